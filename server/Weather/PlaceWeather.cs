using PavementWatch.Core.Weather;

namespace PavementWatch.Server.Weather;

/// <summary>What is known of the weather at a site: quantity by quantity its own rows or, where it has none, those of the whole business.</summary>
internal sealed record PlaceWeather
{
    public static readonly PlaceWeather None = new();

    public WeatherQuantities Observed { get; private init; } = WeatherQuantities.None;

    public WeatherQuantities Forecast { get; private init; } = WeatherQuantities.None;

    /// <summary>Forecast air with its issues, in time order.</summary>
    public IReadOnlyList<(DateTimeOffset At, DateTimeOffset IssuedAt)> Issues { get; private init; } = [];

    /// <summary>Whether there is nothing that an estimate takes.</summary>
    public bool IsEmpty => Observed.IsEmpty && Forecast.IsEmpty;

    /// <summary>Issue of the forecast that speaks of a moment: that of the next row, or of the last.</summary>
    public DateTimeOffset IssueAt(DateTimeOffset at)
    {
        foreach (var issue in Issues)
        {
            if (issue.At >= at)
                return issue.IssuedAt;
        }

        return Issues[^1].IssuedAt;
    }

    /// <param name="site">The site; empty for the whole business.</param>
    /// <param name="rows">Rows of the site and of the whole business, in time order.</param>
    /// <param name="position">[°] Latitude and longitude, by which sun that was not measured is found out; <c>null</c> where they are not known.</param>
    public static PlaceWeather Of(string site, IReadOnlyList<WeatherRow> rows, (double Latitude, double Longitude)? position)
    {
        if (rows.Count == 0)
            return None;
        var forecast = rows.Where(r => r.Kind == WeatherKind.Forecast).ToList();
        return new PlaceWeather
        {
            Observed = WeatherQuantities.Of(site, [.. rows.Where(r => r.Kind == WeatherKind.Observed)], position),
            Forecast = WeatherQuantities.Of(site, forecast, position),
            Issues = [.. WeatherQuantities.Choose(site, forecast, r => r.AirCelsius).Select(r => (r.At, r.IssuedAt ?? r.StoredAt))],
        };
    }
}

/// <summary>The quantities: four that estimates take, and rain.</summary>
internal sealed record WeatherQuantities(WeatherSeries Air, WeatherSeries Humidity, WeatherSeries Wind, WeatherSeries Solar)
{
    public static readonly WeatherQuantities None = new(WeatherSeries.None, WeatherSeries.None, WeatherSeries.None, WeatherSeries.None);

    /// <summary>[mm] Rain that fell in each row's interval; by it a drop of the ground is explained.</summary>
    public WeatherSeries Rain { get; private init; } = WeatherSeries.None;

    /// <summary>Whose station or forecast the sun is of: a site, or empty for the whole business.</summary>
    public string SolarSite { get; private init; } = "";

    /// <summary>First and last time of the sun's last spell that was given and not measured (<see cref="UnmeasuredSun"/>), UTC; <c>null</c> without one.</summary>
    public (DateTimeOffset First, DateTimeOffset Last)? UnmeasuredSolar { get; private init; }

    public bool IsEmpty => Air.Span is null && Humidity.Span is null && Wind.Span is null && Solar.Span is null;

    public static WeatherQuantities Of(string site, IReadOnlyList<WeatherRow> rows, (double Latitude, double Longitude)? position)
    {
        if (rows.Count == 0)
            return None;
        var sun = Values(site, rows, r => r.SolarWattsPerSquareMeter);
        var unmeasured = position is { } place ? UnmeasuredSun.In(sun, place.Latitude, place.Longitude, WeatherSeries.LongestGap) : new bool[sun.Count];
        // They stay as rows: the next one speaks of its own interval only.
        var series = new WeatherSeries([.. sun.Select((row, i) => unmeasured[i] ? (row.At, double.NaN) : row)]);
        var last = sun.Count - 1;
        while (last >= 0 && !unmeasured[last])
            last--;
        var first = last;
        while (first > 0 && unmeasured[first - 1])
            first--;
        return new(
            new(Values(site, rows, r => r.AirCelsius)), new(Values(site, rows, r => r.HumidityPercent)), new(Values(site, rows, r => r.WindMetersPerSecond)), series)
        {
            Rain = new(Values(site, rows, r => r.RainMillimeters)),
            SolarSite = Choose(site, rows, r => r.SolarWattsPerSquareMeter).FirstOrDefault()?.Site ?? "",
            UnmeasuredSolar = last < 0 ? null : (sun[first].At, sun[last].At),
        };
    }

    /// <summary>The rows that speak of a quantity: the site's own if it has any, else the whole business's. Two stations are never mixed.</summary>
    public static IEnumerable<WeatherRow> Choose(string site, IReadOnlyList<WeatherRow> rows, Func<WeatherRow, double?> quantity)
    {
        var own = rows.Any(r => r.Site == site && quantity(r) is not null) ? site : "";
        return rows.Where(r => r.Site == own && quantity(r) is not null);
    }

    private static List<(DateTimeOffset At, double Value)> Values(string site, IReadOnlyList<WeatherRow> rows, Func<WeatherRow, double?> quantity) =>
        [.. Choose(site, rows, quantity).Select(r => (r.At, quantity(r)!.Value))];
}
