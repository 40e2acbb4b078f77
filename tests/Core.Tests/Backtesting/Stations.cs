using System.Collections.Concurrent;
using System.Globalization;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Backtesting;

/// <summary>The two open measurements and the spans their figures are stated for.</summary>
internal static class Stations
{
    private static readonly ConcurrentDictionary<(string Station, OffsetInputs Inputs), Lazy<BacktestReport>> Reports = new();

    /// <summary>A station's report, made once for all that look at it.</summary>
    public static BacktestReport Run(string station, OffsetInputs inputs) => Reports.GetOrAdd(
        (station, inputs), one => new Lazy<BacktestReport>(() => Backtest.Run(Request(one.Station) with { Inputs = one.Inputs }))).Value;

    public static BacktestRequest Request(string station)
    {
        var grass = station == "bondville";
        var path = SharedData.RequireFile(grass ? "bondville-1998-half-hourly.csv" : "hornsgatan-2010-summer-hourly.csv");
        var rows = Rows(path);
        return grass
            ? new BacktestRequest(Place(SurfaceKind.Grass, 40.01, -88.37), rows)
            {
                From = new DateOnly(1998, 6, 1),
                To = new DateOnly(1998, 7, 15),
            }
            : new BacktestRequest(Place(SurfaceKind.Asphalt, 59.32, 18.05), rows)
            {
                From = new DateOnly(2010, 7, 15),
                To = new DateOnly(2010, 9, 30),
            };
    }

    // The files hold no quotes and nothing out of range; how any file is read is the server's, and tested there.
    private static IReadOnlyList<WeatherSample> Rows(string path)
    {
        var lines = File.ReadAllLines(path);
        var names = lines[0].Split(',');
        var intake = new RowIntake();
        foreach (var (index, line) in lines.Index().Skip(1))
        {
            var cells = line.Split(',');
            double? Number(string name) => Array.IndexOf(names, name) is >= 0 and var place && cells[place].Length > 0
                ? double.Parse(cells[place], CultureInfo.InvariantCulture)
                : null;
            if (Number("air_celsius") is not { } air)
                continue;
            var at = DateTimeOffset.Parse(cells[Array.IndexOf(names, "time_utc")], CultureInfo.InvariantCulture);
            Assert.True(intake.Add(
                new WeatherSample(at, air)
                {
                    SurfaceCelsius = Number("surface_celsius"),
                    HumidityPercent = Number("humidity_percent"),
                    WindMetersPerSecond = Number("wind_mps"),
                    SolarWattsPerSquareMeter = Number("solar_wm2") is { } sun ? Math.Max(0, sun) : null,
                },
                index + 1));
        }

        return intake.Finish(withoutAir: 0).Rows;
    }

    private static Spot Place(SurfaceKind kind, double latitude, double longitude) =>
        new(SpotId.Parse("station"), "station", kind, latitude, longitude, "UTC");
}
