namespace PavementWatch.Core.Weather;

/// <summary>A stretch of a list of samples.</summary>
/// <param name="samples">In time order.</param>
/// <param name="from">Index of its first.</param>
/// <param name="to">Index behind its last.</param>
internal sealed class WeatherStretch(IReadOnlyList<WeatherSample> samples, int from, int to)
{
    public int Count => to - from;

    public WeatherSample this[int index] => samples[from + index];

    /// <summary>The samples, which are large, without a copy of each. For as long as the list is not changed.</summary>
    public ReadOnlySpan<WeatherSample> Span => WeatherSample.SpanOf(samples)[from..to];
}
