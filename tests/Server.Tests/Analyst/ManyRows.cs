using System.Globalization;

namespace PavementWatch.Server.Tests.Analyst;

/// <summary>A file of measurements that is made while it is read.</summary>
/// <param name="count">Rows.</param>
/// <param name="row">The row of a number from 0.</param>
/// <param name="lineEnd">What ends a line.</param>
internal sealed class ManyRows(int count, Func<int, string> row, string lineEnd = "\n") : TextReader
{
    public const string Header = "time_utc,air_celsius,surface_celsius,humidity_percent,wind_mps,solar_wm2";

    private string _line = Header + lineEnd;
    private int _at;
    private int _next;

    /// <summary>The row of a sample, as a logger writes it.</summary>
    public static string Text(DateTimeOffset at, double airCelsius, double? surfaceCelsius, double humidityPercent) => string.Create(
        CultureInfo.InvariantCulture,
        $"{at.UtcDateTime:yyyy-MM-ddTHH:mm:ssZ},{airCelsius:F2},{surfaceCelsius:F2},{humidityPercent:F1},2.5,410.0");

    public override int Read(char[] buffer, int index, int count)
    {
        var read = 0;
        while (read < count && Line() is { } line)
        {
            var part = Math.Min(count - read, line.Length - _at);
            line.CopyTo(_at, buffer, index + read, part);
            (_at, read) = (_at + part, read + part);
        }

        return read;
    }

    private string? Line()
    {
        if (_at == _line.Length)
        {
            if (_next == count)
                return null;
            (_line, _at) = (row(_next++) + lineEnd, 0);
        }

        return _line;
    }
}
