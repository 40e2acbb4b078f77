using PavementWatch.Server.Tables;

namespace PavementWatch.Server.Weather;

/// <summary>
/// Reads <c>time_utc,air_celsius[,humidity_percent][,wind_mps][,solar_wm2][,rain_mm]</c>. Any of the five quantities will do for what
/// was observed.
/// </summary>
internal static class WeatherCsv
{
    public const string Header = "time_utc,air_celsius,humidity_percent,wind_mps,solar_wm2,rain_mm";

    /// <returns><see cref="WeatherFile"/> or <see cref="WeatherFault"/>.</returns>
    public static WeatherFileOutcome Read(TextReader reader)
    {
        try
        {
            using var table = new TableReader(reader, Header);
            return Read(table);
        }
        catch (TableException e)
        {
            return new WeatherFault(e.Fault.Where, e.Fault.Found, e.Fault.Expected, e.Fault.Remedy);
        }
    }

    private static WeatherFileOutcome Read(TableReader table)
    {
        var time = table.Required("time_utc");
        var quantities = WeatherFields.All.Select(f => table.Column(f.Column, f.Range)).ToArray();
        if (!quantities.Any(q => q.IsThere))
            throw table.Missing("", "none of the columns of weather");
        var rows = new List<WeatherValues>();
        while (table.Next())
        {
            if (rows.Count == WeatherFields.MostRows)
                throw table.Refuse($"more than {WeatherFields.MostRows} rows", "fewer", "cut the file into parts");
            rows.Add(new WeatherValues(table.Time(time))
            {
                AirCelsius = table.Number(quantities[0]),
                HumidityPercent = table.Number(quantities[1]),
                WindMetersPerSecond = table.Number(quantities[2]),
                SolarWattsPerSquareMeter = table.Number(quantities[3]) is { } sun ? Math.Max(0, sun) : null,
                RainMillimeters = table.Number(quantities[4]),
            });
        }

        return WeatherFields.Tidy(rows, table.PassedOver is { } passedOver ? [passedOver] : []);
    }
}
