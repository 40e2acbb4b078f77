using System.Globalization;
using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Backtesting;

/// <summary>Takes rows as a file has them and gives them in time order: each one as it is, or means when they are many.</summary>
/// <remarks>Rows out of order are sorted and of rows with the same time the first is kept; the remarks say so.</remarks>
public sealed class RowIntake
{
    /// <summary>Most rows kept as they are: a year of minutes, with room. More are averaged to steps, as short ones as fit.</summary>
    public const int MostRows = 600_000;

    private List<WeatherSample> _rows = [];
    private RowMeans? _means;
    private DateTimeOffset _last = DateTimeOffset.MinValue;
    private int _count;
    private int _repeated;
    private int _unsortedLine;
    private bool _sorted = true;

    /// <summary>Adds a row.</summary>
    /// <param name="row">The row.</param>
    /// <param name="line">Its line.</param>
    /// <returns>Whether there was room; without it the rows span more than <see cref="MostRows"/> hours, too long even for hourly means.</returns>
    public bool Add(in WeatherSample row, int line)
    {
        _count++;
        if (_means is null && _rows.Count == MostRows)
            MakeRoom();
        if (row.At < _last)
        {
            _sorted = false;
            if (_unsortedLine == 0)
                _unsortedLine = line;
        }

        var again = row.At == _last;
        _last = row.At;
        if (_means is null)
        {
            _rows.Add(row);
            return true;
        }

        if (!again)
            return _means.Add(row);
        _repeated++;
        return true;
    }

    /// <summary>The rows, and what was mended.</summary>
    /// <param name="withoutAir">Rows that were left out before they came here.</param>
    public BacktestRows Finish(int withoutAir)
    {
        Tidy();
        var remarks = new List<string>();
        if (withoutAir > 0)
            remarks.Add(Say($"{withoutAir:N0} rows without air temperature were left out"));
        if (_unsortedLine > 0)
            remarks.Add(Say($"rows were out of order, first at line {_unsortedLine}, and have been sorted by time"));
        if (_repeated > 0)
            remarks.Add(Say($"{_repeated:N0} rows repeated a time; the first of each was kept"));
        if (_means is null)
            return new BacktestRows(_rows, remarks);
        remarks.Add(Say($"{_count:N0} rows read, averaged to {_means.Minutes}-minute steps: errors are those of the means, which scatter less than single rows; up to {MostRows:N0} rows are taken one by one")
            + (_unsortedLine > 0 ? "; a time that is there twice, apart, counts twice in its step" : ""));
        return new BacktestRows(_means.Rows(), remarks) { StepMinutes = _means.Minutes };
    }

    private void MakeRoom()
    {
        Tidy();
        if (_rows.Count <= MostRows / 2)
            return;
        _means = new RowMeans(MostRows);
        foreach (var row in _rows)
            _means.Add(row);
        _rows = [];
    }

    /// <summary>Sorts the rows that are kept as they are, and of rows with the same time keeps the first.</summary>
    private void Tidy()
    {
        if (!_sorted)
            _rows = [.. _rows.OrderBy(r => r.At)];
        // What follows may be out of order with what is here.
        _sorted = true;
        var kept = 0;
        for (var i = 0; i < _rows.Count; i++)
        {
            if (kept == 0 || _rows[kept - 1].At != _rows[i].At)
                _rows[kept++] = _rows[i];
        }

        _repeated += _rows.Count - kept;
        _rows.RemoveRange(kept, _rows.Count - kept);
        if (kept > 0)
            _last = _rows[^1].At;
    }

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
