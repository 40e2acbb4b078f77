namespace PavementWatch.Gateway.Sensors;

/// <summary>An open sensor. One folder each; its constructor checks that it is there and what it claims to be.</summary>
internal interface ISensor : IDisposable
{
    /// <summary>Measures once.</summary>
    /// <returns>The values, every check passed; or why there are none.</returns>
    /// <exception cref="Buses.RefusedFrameException">A frame failed its check.</exception>
    /// <exception cref="IOException">Nobody answered.</exception>
    ReadOutcome Read();
}
