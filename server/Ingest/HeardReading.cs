using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

/// <summary>A reading that came in.</summary>
/// <param name="Reading">As it was sent.</param>
/// <param name="CountsAt">The moment, by this server's clock, at which it counts as measured; <c>null</c> for history, which says nothing of how the spot is now.</param>
internal sealed record HeardReading(Reading Reading, DateTimeOffset? CountsAt);
