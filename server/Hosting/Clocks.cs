
namespace PavementWatch.Server.Hosting;

/// <summary>The two clocks of the server.</summary>
/// <remarks>
/// The unnamed <see cref="TimeProvider"/> is the spots' clock; the demo runs it faster than life. Links, sign-ins and
/// shared positions belong to people, whose browsers know only the real time.
/// </remarks>
internal static class Clocks
{
    /// <summary>Key of the people's clock.</summary>
    public const string People = "people";
}
