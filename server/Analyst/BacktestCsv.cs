using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Analyst;

/// <summary>Reads <c>time_utc,air_celsius,surface_celsius[,humidity_percent][,wind_mps][,solar_wm2]</c>.</summary>
/// <remarks>
/// A row without air is left out. What <see cref="RowIntake"/> mends, it says. A file may be of any size: it is read as it
/// comes, and of more than <see cref="RowIntake.MostRows"/> rows the means of steps are kept.
/// </remarks>
internal static class BacktestCsv
{
    private const int TellEvery = 1 << 16;

    /// <summary>Reads a file.</summary>
    /// <param name="reader">The file's text.</param>
    /// <param name="progress">Told every now and then how many lines were read; may be <c>null</c>.</param>
    /// <param name="cancellationToken">Stops between lines.</param>
    /// <exception cref="TableException">The file cannot be used; the message says where and why.</exception>
    public static BacktestRows Read(TextReader reader, IProgress<int>? progress = null, CancellationToken cancellationToken = default)
    {
        using var table = new TableReader(reader, "time_utc,air_celsius,surface_celsius,humidity_percent");
        var time = table.Required("time_utc");
        var air = table.Required("air_celsius", QuantityRanges.Air);
        var surface = table.Required("surface_celsius", QuantityRanges.Surface);
        var humidity = table.Column("humidity_percent", QuantityRanges.Humidity);
        var wind = table.Column("wind_mps", QuantityRanges.Wind);
        var solar = table.Column("solar_wm2", QuantityRanges.Solar);

        var intake = new RowIntake();
        var (some, withoutAir, told) = (false, 0, 0);
        while (table.Next())
        {
            if (table.Line - told >= TellEvery)
            {
                cancellationToken.ThrowIfCancellationRequested();
                progress?.Report(told = table.Line);
            }

            var at = table.Time(time);
            var sample = new WeatherSample(at, table.Number(air) ?? double.NaN)
            {
                SurfaceCelsius = table.Number(surface),
                HumidityPercent = table.Number(humidity),
                WindMetersPerSecond = table.Number(wind),
                SolarWattsPerSquareMeter = table.Number(solar) is { } sun ? Math.Max(0, sun) : null,
            };
            if (double.IsNaN(sample.AirCelsius))
                withoutAir++;
            else if (!intake.Add(sample, table.Line))
                throw table.Refuse($"more than {RowIntake.MostRows} hours of measurements", "at most 68 years", "cut the file to the span of interest");
            else
                some = true;
        }

        progress?.Report(table.Line);
        if (!some)
            throw table.Refuse("no row with time and air", "at least one", "check that the file holds measurements");
        var rows = intake.Finish(withoutAir);
        return table.PassedOver is { } passedOver ? rows with { Remarks = [.. rows.Remarks, passedOver] } : rows;
    }
}
