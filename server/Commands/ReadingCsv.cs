using System.Globalization;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Commands;

/// <summary>Readings as CSV, as <c>export</c> writes and <c>import</c> reads them.</summary>
internal static class ReadingCsv
{
    public const string Header =
        "time_utc,surface_celsius,air_celsius,humidity_percent,sensor_celsius,light_lux,supply_volts,quality,doubt";

    public static string Line(Reading reading) => string.Join(
        ',',
        reading.MeasuredAt.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.FFF'Z'", CultureInfo.InvariantCulture),
        Text(reading.SurfaceCelsius), Text(reading.AirCelsius), Text(reading.HumidityPercent),
        Text(reading.SensorCelsius), Text(reading.LightLux), Text(reading.SupplyVolts),
        reading.Quality.ToString().ToLowerInvariant(),
        reading.Doubt == Doubt.None ? "" : reading.Doubt.ToString().Replace(", ", "+", StringComparison.Ordinal));

    /// <summary>The readings of a file, one after another.</summary>
    /// <param name="reader">The file's text.</param>
    /// <param name="spot">Whose they are.</param>
    /// <param name="remark">Told what was passed over.</param>
    /// <exception cref="TableException">A line cannot be read; the message names it, the column, what was found and expected.</exception>
    public static IEnumerable<Reading> Read(TextReader reader, SpotId spot, Action<string>? remark = null)
    {
        using var table = new TableReader(reader, Header);
        var columns = new Columns(table);
        if (table.PassedOver is { } passedOver)
            remark?.Invoke(passedOver);
        while (table.Next())
            yield return columns.Read(spot);
    }

    private static string Text(double? value) => value?.ToString("R", CultureInfo.InvariantCulture) ?? "";

    private sealed class Columns
    {
        private readonly TableReader _table;
        private readonly TableColumn _time, _spot, _surface, _air, _humidity, _sensor, _light, _supply, _quality, _doubt;

        public Columns(TableReader table)
        {
            _table = table;
            _time = table.Required("time_utc");
            _spot = table.Column("spot");
            _surface = table.Column("surface_celsius", QuantityRanges.Surface);
            _air = table.Column("air_celsius", QuantityRanges.Air);
            _humidity = table.Column("humidity_percent", QuantityRanges.Humidity);
            _sensor = table.Column("sensor_celsius", QuantityRanges.SensorBody);
            _light = table.Column("light_lux", QuantityRanges.Light);
            _supply = table.Column("supply_volts", QuantityRanges.Supply);
            _quality = table.Column("quality");
            _doubt = table.Column("doubt");
            if (!new[] { _surface, _air, _humidity, _sensor, _light, _supply }.Any(c => c.IsThere))
                throw table.Missing("", "none of the columns of readings");
        }

        public Reading Read(SpotId spot)
        {
            var reading = new Reading(spot, _table.Time(_time))
            {
                SurfaceCelsius = _table.Number(_surface),
                AirCelsius = _table.Number(_air),
                HumidityPercent = _table.Number(_humidity),
                SensorCelsius = _table.Number(_sensor),
                LightLux = _table.Number(_light),
                SupplyVolts = _table.Number(_supply),
                Quality = Word(_quality, ReadingQuality.Good, "good, suspect or rejected"),
                Doubt = Word(_doubt, Doubt.None, "names such as Spike+Wet"),
            };
            // An export of all spots has such a column; one spot's ground is not another's.
            return _table.Cell(_spot) is { Length: > 0 } whose && whose != spot.Value
                ? throw _table.Refuse(_spot, $"'{whose}'", $"'{spot}', whose readings these are to be", "take each spot's readings into a file of its own: export readings --spot ID")
                : reading;
        }

        private T Word<T>(TableColumn column, T unlessGiven, string expected)
            where T : struct, Enum
        {
            var cell = _table.Cell(column);
            if (cell.Length == 0)
                return unlessGiven;
            // Numbers would be taken for names, and are none.
            return cell.All(c => char.IsAsciiLetter(c) || c is '+' or ',' or ' ')
                && Enum.TryParse<T>(cell.Replace('+', ','), ignoreCase: true, out var value)
                    ? value
                    : throw _table.Refuse(column, $"'{cell}'", expected, "correct the cell");
        }
    }
}
