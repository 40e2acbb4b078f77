using PavementWatch.Core.Offsets;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Watch;

/// <summary>Weather at a spot up to now and, where there is a forecast, on.</summary>
/// <param name="Samples">In time order.</param>
/// <param name="KnownUntil">Time of the last sample that was measured or observed; <c>null</c> when none was.</param>
/// <param name="Forecast">Ends of the steps that a forecast spoke of, with its issue, in time order.</param>
internal sealed record SpotWeather(
    IReadOnlyList<WeatherSample> Samples, DateTimeOffset? KnownUntil, IReadOnlyList<(DateTimeOffset End, DateTimeOffset IssuedAt)> Forecast)
{
    /// <summary>Weather of a time that is over.</summary>
    public static SpotWeather Past(IReadOnlyList<WeatherSample> samples) =>
        new(samples, samples.Count > 0 ? samples[^1].At : null, []);

    /// <summary>[°C] The newest air not later than a moment and not older than an hour; <c>null</c> when there is none.</summary>
    public double? AirAt(DateTimeOffset moment)
    {
        for (var i = Samples.Count - 1; i >= 0; i--)
        {
            if (Samples[i].At <= moment)
                return moment - Samples[i].At < TimeSpan.FromHours(1) ? Samples[i].AirCelsius : null;
        }

        return null;
    }

    /// <summary>Where the air of a moment is from.</summary>
    public AirOrigin OriginAt(DateTimeOffset moment)
    {
        if (moment <= KnownUntil + SiteWeather.Step)
            return AirOrigin.Measured;
        return Forecast.Any(f => f.End >= moment && f.End - SiteWeather.Step < moment) ? AirOrigin.Forecast : AirOrigin.Repeated;
    }

    /// <summary>Estimates, each by the inputs at hand for it; the interval of one whose air was not measured allows for that.</summary>
    public IReadOnlyList<InformedEstimate> Estimate(
        OffsetModel model, OffsetFit fit, Spot spot, IReadOnlyList<DateTimeOffset> at, IReadOnlyList<LentState>? lent = null) =>
        [.. InputsAtHand.Estimate(model, fit, spot, Samples, at, lent).Select(e => e with { Value = Widened(e.Value, fit) })];

    // Where nothing at all was measured, a forecast alone speaks: as far off as it may be at the end of its day.
    private SurfaceEstimate Widened(SurfaceEstimate estimate, OffsetFit fit) => GuessedAir.Widen(
        estimate,
        KnownUntil is { } known ? estimate.At - known : TimeSpan.FromDays(1),
        fit,
        OriginAt(estimate.At) == AirOrigin.Forecast ? GuessedAir.ForecastFraction : 1);

    /// <summary>What a page says of the air of the coming hours; <c>null</c> when no moment lies ahead.</summary>
    /// <param name="estimates">The day's estimates.</param>
    /// <param name="now">The hours after this come.</param>
    public ComingHours? Coming(IReadOnlyList<InformedEstimate> estimates, DateTimeOffset now)
    {
        var ahead = estimates.Where(e => e.Value.At > now).ToList();
        if (ahead.Count == 0)
            return null;
        var told = ahead.Where(e => OriginAt(e.Value.At) == AirOrigin.Forecast).ToList();
        return new ComingHours(
            ahead[0].Value.At, told.Count > 0 ? Used(told) : null, ahead.All(e => OriginAt(e.Value.At) != AirOrigin.Repeated));
    }

    private ForecastUsed Used(List<InformedEstimate> told)
    {
        var (first, last) = (told[0].Value.At, told[^1].Value.At);
        var issues = Forecast.Where(f => f.End > first - SiteWeather.Step && f.End < last + SiteWeather.Step).Select(f => f.IssuedAt).ToList();
        return new ForecastUsed(
            first, last, issues.Min(), issues.Max(),
            WithWind: told.All(e => e.Inputs.HasFlag(OffsetInputs.Wind)),
            WithSun: told.All(e => e.Inputs.HasFlag(OffsetInputs.Solar)));
    }
}
