using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Days;

/// <summary>All that a day's record is made of, as far as it can change. Equal ones make equal records.</summary>
/// <remarks>
/// The minute stands for the clock, and for what nobody here hears of: readings that another program writes, and the air of
/// neighbours. So no record is shown that is older than the minute it was made in.
/// </remarks>
/// <param name="Spot">The spot with its limit, ground and place.</param>
/// <param name="Minute">The minute that it is now.</param>
/// <param name="Readings">See <see cref="Store.ReadingRevisions"/>.</param>
/// <param name="Weather">See <see cref="Weather.WeatherStore.Edition"/>.</param>
/// <param name="Fit">The fit in use.</param>
/// <param name="WasMeasured">Whether a good reading ever came, by the watch.</param>
/// <param name="IcySince">Since when it may be icy, by the watch.</param>
internal sealed record DayBasis(Spot Spot, long Minute, long Readings, long Weather, string? Fit, bool WasMeasured, DateTimeOffset? IcySince);
