using System.Globalization;
using Microsoft.AspNetCore.Http;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Setup;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>The backtest form as somebody filled it in.</summary>
internal sealed class BacktestEntry
{
    public string Latitude { get; private init; } = "";

    public string Longitude { get; private init; } = "";

    public string Surface { get; private init; } = "asphalt";

    public string From { get; private init; } = "";

    public string To { get; private init; } = "";

    public string Zone { get; private init; } = "";

    /// <summary>In the unit of <see cref="Unit"/>; <c>null</c> before anybody has typed.</summary>
    public string? Limit { get; private init; }

    public TemperatureUnit Unit { get; private init; }

    public bool Humidity { get; private init; } = true;

    public bool Wind { get; private init; }

    public bool Solar { get; private init; }

    /// <summary>What was found wrong, in plain sentences.</summary>
    public List<string> Faults { get; } = [];

    public static BacktestEntry Of(IFormCollection form, TemperatureUnit unit) => new()
    {
        Unit = unit,
        Latitude = form["latitude"].ToString().Trim(),
        Longitude = form["longitude"].ToString().Trim(),
        Surface = form["surface"].ToString(),
        From = form["from"].ToString(),
        To = form["to"].ToString(),
        Zone = form["zone"].ToString().Trim(),
        Limit = form["limit"].ToString().Trim(),
        Humidity = form["humidity"] == "on",
        Wind = form["wind"] == "on",
        Solar = form["solar"] == "on",
    };

    /// <summary>Reads form and file.</summary>
    /// <param name="file">The file's text; <c>null</c> when none was sent.</param>
    /// <param name="backtests">Who can read it.</param>
    /// <param name="cancellationToken">Whoever sent it gave up.</param>
    /// <returns>What to backtest and what was mended in the file; <c>null</c> when <see cref="Faults"/> says why not.</returns>
    public (BacktestRequest Request, IReadOnlyList<string> Remarks)? Read(TextReader? file, IBacktests backtests, CancellationToken cancellationToken)
    {
        var latitude = Number("Latitude", Latitude, QuantityRanges.Latitude);
        var longitude = Number("Longitude", Longitude, QuantityRanges.Longitude);
        var limit = Celsius("Limit", Limit ?? "", QuantityRanges.Surface);
        var (from, to) = (Day("First day", From), Day("Last day", To));
        TimeZoneInfo? zone = null;
        if (Zone.Length > 0 && !TimeZoneInfo.TryFindSystemTimeZoneById(Zone, out zone))
            Faults.Add($"Time zone is “{Zone}”, expected a name like America/Chicago, or nothing.");
        if (!SurfaceKinds.TryParse(Surface, out var kind))
            Faults.Add("Choose what the ground is made of.");
        if (file is null)
            Faults.Add("Choose a CSV file that is not empty.");
        if (Faults.Count > 0 || file is null)
            return null;
        var (rows, fault) = backtests.Read(file, cancellationToken);
        if (rows is null)
        {
            Faults.Add($"The file: {fault}.");
            return null;
        }

        var spot = new Spot(SpotId.Parse("backtest"), "Backtest", kind, latitude, longitude, "Etc/UTC");
        return (new BacktestRequest(spot, rows.Rows)
        {
            From = from,
            To = to,
            TimeZone = zone,
            LimitCelsius = limit,
            Inputs = (Humidity ? OffsetInputs.Humidity : 0) | (Wind ? OffsetInputs.Wind : 0) | (Solar ? OffsetInputs.Solar : 0),
        }, rows.Remarks);
    }

    private double Celsius(string name, string text, QuantityRange range)
    {
        if (SetupText.Celsius(text, UnitText.Name(Unit)) is { } celsius && range.Holds(celsius))
            return celsius;
        Faults.Add($"{name} is “{text}”, expected a number from {Temperatures.Range(range, Unit)}.");
        return double.NaN;
    }

    private double Number(string name, string text, QuantityRange range)
    {
        if (double.TryParse(text.Replace(',', '.'), NumberStyles.Float, CultureInfo.InvariantCulture, out var value) && range.Holds(value))
            return value;
        Faults.Add(string.Create(CultureInfo.InvariantCulture, $"{name} is “{text}”, expected a number from {range}."));
        return double.NaN;
    }

    private DateOnly? Day(string name, string text)
    {
        if (text.Length == 0)
            return null;
        if (DateOnly.TryParseExact(text, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out var day))
            return day;
        Faults.Add($"{name} is “{text}”, expected a day like 2026-07-14.");
        return null;
    }
}
