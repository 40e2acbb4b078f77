namespace PavementWatch.Gateway.Publishing;

/// <summary>Names this run of the program, so that the server can tell a new count of packs from a gap in the old.</summary>
internal sealed class GatewayRun
{
    /// <summary>Eight characters, new each time; the packs' user property <c>boot</c>.</summary>
    public string Id { get; } = Guid.NewGuid().ToString("n")[..8];
}
