using PavementWatch.Core.Offsets;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>What to backtest.</summary>
/// <param name="Spot">Place, surface kind and limit; its time zone is used when it has one, see <see cref="TimeZone"/>.</param>
/// <param name="Rows">Measured rows in time order.</param>
public sealed record BacktestRequest(Spot Spot, IReadOnlyList<WeatherSample> Rows)
{
    /// <summary>First local day to predict; <c>null</c> is the first day with three days before it.</summary>
    public DateOnly? From { get; init; }

    /// <summary>Last local day to predict, inclusive; <c>null</c> is the last day of the rows.</summary>
    public DateOnly? To { get; init; }

    /// <summary>What the offset may look at besides the air.</summary>
    public OffsetInputs Inputs { get; init; } = OffsetInputs.Humidity;

    /// <summary>Local days begin at this zone's midnight; <c>null</c> takes whole hours of mean solar time from the longitude.</summary>
    public TimeZoneInfo? TimeZone { get; init; }

    /// <summary>[°C] Limit whose crossings are counted; <c>null</c> is the spot's.</summary>
    public double? LimitCelsius { get; init; }
}
