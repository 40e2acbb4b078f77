using PavementWatch.Core.Statistics;

namespace PavementWatch.Server.Weather;

/// <summary>One quantity over time. What lies between rows further apart than <see cref="LongestGap"/> is not known, nor the interval of a row of NaN.</summary>
internal sealed class WeatherSeries(IReadOnlyList<(DateTimeOffset At, double Value)> rows)
{
    /// <summary>Rows further apart than this say nothing of the time between them.</summary>
    public static readonly TimeSpan LongestGap = TimeSpan.FromHours(3);

    public static readonly WeatherSeries None = new([]);

    /// <summary>First and last time with a value; <c>null</c> without any.</summary>
    public (DateTimeOffset First, DateTimeOffset Last)? Span => rows.Count == 0 ? null : (rows[0].At, rows[^1].At);

    /// <summary>The value at a moment, in proportion between two rows: for air and humidity.</summary>
    public double? Between(DateTimeOffset at)
    {
        var next = NotBefore(at);
        if (next == rows.Count)
            return null;
        if (rows[next].At == at)
            return rows[next].Value;
        if (next == 0 || rows[next].At - rows[next - 1].At > LongestGap)
            return null;
        var (from, to) = (rows[next - 1], rows[next]);
        return from.Value + (to.Value - from.Value) * ((at - from.At) / (to.At - from.At));
    }

    /// <summary>The mean of the interval that holds a moment, each row's reaching back to the row before: for wind and sun.</summary>
    public double? Over(DateTimeOffset at) => Over(at, NotBefore(at));

    /// <summary>For <see cref="Over(DateTimeOffset)"/> of moments in time order, each after the one before.</summary>
    public Walk Along() => new(this);

    /// <summary>The end of the last interval with more than nothing, or the moment itself where that one goes on: for rain.</summary>
    /// <param name="at">The moment; what ends after it and has not begun is not looked at.</param>
    /// <param name="since">Nor what ended at this or before.</param>
    /// <returns><c>null</c> without one.</returns>
    public DateTimeOffset? LastOfAny(DateTimeOffset at, DateTimeOffset since)
    {
        for (var i = Math.Min(NotBefore(at), rows.Count - 1); i >= 0 && rows[i].At > since; i--)
        {
            if (rows[i].Value > 0 && (rows[i].At <= at || Over(at, i) is not null))
                return rows[i].At < at ? rows[i].At : at;
        }

        return null;
    }

    /// <summary>The sum of the rows that end after a moment and up to another: for rain.</summary>
    public double Sum(DateTimeOffset after, DateTimeOffset to) => rows.Where(r => r.At > after && r.At <= to).Sum(r => r.Value);

    private double? Over(DateTimeOffset at, int next)
    {
        if (next == rows.Count)
            return null;
        // Before the first row there is none to reach back to; it is as long as the one after it.
        var length = next > 0 ? rows[next].At - rows[next - 1].At : rows.Count > 1 ? rows[1].At - rows[0].At : TimeSpan.Zero;
        if (rows[next].At == at || (length <= LongestGap && at > rows[next].At - length))
            return double.IsNaN(rows[next].Value) ? null : rows[next].Value;
        return null;
    }

    /// <summary>The first row later than a moment, if it is not later by more than <see cref="LongestGap"/>.</summary>
    public (DateTimeOffset At, double Value)? After(DateTimeOffset at)
    {
        var next = NotBefore(at.AddTicks(1));
        return next < rows.Count && rows[next].At - at <= LongestGap ? rows[next] : null;
    }

    private int RowCount => rows.Count;

    private DateTimeOffset At(int row) => rows[row].At;

    /// <summary>Index of the first row not before a moment.</summary>
    private int NotBefore(DateTimeOffset at) => Ascending.CountUpTo(rows, at, static (row, moment) => row.At >= moment);

    /// <summary>Goes along the rows once.</summary>
    internal sealed class Walk(WeatherSeries series)
    {
        private int _next = -1;

        /// <summary>As <see cref="WeatherSeries.Over(DateTimeOffset)"/>, of a moment not before the one asked for last.</summary>
        public double? Over(DateTimeOffset at)
        {
            if (_next < 0)
                _next = series.NotBefore(at);
            while (_next < series.RowCount && series.At(_next) < at)
                _next++;
            return series.Over(at, _next);
        }
    }
}
