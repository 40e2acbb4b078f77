using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Backtesting;

/// <summary>The two open measurements and the spans their figures are stated for.</summary>
internal static class Stations
{
    public static BacktestReport Run(string station, OffsetInputs inputs) => Backtest.Run(Request(station) with { Inputs = inputs });

    public static BacktestRequest Request(string station)
    {
        var grass = station == "bondville";
        var path = SharedData.RequireFile(grass ? "bondville-1998-half-hourly.csv" : "hornsgatan-2010-summer-hourly.csv");
        using var reader = new StreamReader(path);
        var rows = Assert.IsType<BacktestRows>(BacktestCsv.Read(reader, null, TestContext.Current.CancellationToken)).Rows;
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

    private static Spot Place(SurfaceKind kind, double latitude, double longitude) =>
        new(SpotId.Parse("station"), "station", kind, latitude, longitude, "UTC");
}
