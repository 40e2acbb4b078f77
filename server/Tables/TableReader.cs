using System.Globalization;
using CsvHelper;
using CsvHelper.Configuration;
using PavementWatch.Core.Quantities;

namespace PavementWatch.Server.Tables;

/// <summary>
/// Reads a table of measurements: comma-separated values (RFC 4180), a line of names first. Columns stand in any order;
/// those nobody asks for are passed over and can be named; an empty cell is not known. A row is one line.
/// </summary>
/// <remarks>It reads as it goes: a table of any length needs no more memory than its longest row.</remarks>
internal sealed class TableReader : IDisposable
{
    /// <summary>[characters] Longest line; a longer one is no row of measurements.</summary>
    public const int LongestLine = 8192;

    /// <summary>How many columns that were passed over are named.</summary>
    private const int MostNamed = 10;

    private readonly BoundedText _text;
    private readonly CsvParser _parser;
    private readonly string _sample;
    private readonly string[] _names;
    private readonly HashSet<string> _asked = [];
    private bool _badCell;

    /// <summary>Reads the line of names.</summary>
    /// <param name="text">The table; whoever gave it closes it.</param>
    /// <param name="sample">A line of names as it could be, for whoever wrote another one.</param>
    /// <exception cref="TableException">There is none.</exception>
    public TableReader(TextReader text, string sample)
    {
        _sample = sample;
        _text = new BoundedText(text, LongestLine);
        _parser = new CsvParser(
            _text,
            new CsvConfiguration(CultureInfo.InvariantCulture)
            {
                Delimiter = ",",
                BufferSize = LongestLine,
                IgnoreBlankLines = false,
                // So each row is a line, and the number of a row is that of its line.
                LineBreakInQuotedFieldIsBadData = true,
                BadDataFound = _ => _badCell = true,
            });
        if (!Row() || IsBlank())
            throw Refuse("an empty file", $"a line like {sample}", "write the file again with its header", line: 1);
        _names = [.. Enumerable.Range(0, _parser.Count).Select(place => Text(place, "").ToLowerInvariant())];
    }

    /// <summary>The line the row stands on, counted from 1.</summary>
    public int Line { get; private set; }

    /// <summary>Columns nobody asked for, as a remark; <c>null</c> when there are none.</summary>
    public string? PassedOver
    {
        get
        {
            var names = _names.Where(name => name.Length > 0 && !_asked.Contains(name)).Distinct().ToList();
            return names.Count == 0 ? null
                : $"columns passed over: {string.Join(", ", names.Take(MostNamed))}{(names.Count > MostNamed ? $" and {names.Count - MostNamed} more" : "")}";
        }
    }

    /// <summary>A column that may be missing.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="range">What its numbers may be.</param>
    /// <exception cref="TableException">It is there twice.</exception>
    public TableColumn Column(string name, QuantityRange? range = null)
    {
        _asked.Add(name);
        var column = new TableColumn(name, Array.IndexOf(_names, name), range);
        return Array.LastIndexOf(_names, name) == column.Place
            ? column
            : throw Refuse(column, "the column twice", "each column once", "remove one of them");
    }

    /// <summary>A column that must be there.</summary>
    /// <exception cref="TableException">It is not, or twice.</exception>
    public TableColumn Required(string name, QuantityRange? range = null) =>
        Column(name, range) is { IsThere: true } column ? column : throw Missing(name);

    /// <summary>The fault that a column is missing, or that columns are parted by something else.</summary>
    /// <param name="name">Its name; empty where one of several would do.</param>
    /// <param name="found">What there is.</param>
    /// <param name="expected">What would do; the sample unless given.</param>
    public TableException Missing(string name, string found = "no such column", string? expected = null) =>
        _names.Any(n => n.Contains(';', StringComparison.Ordinal) || n.Contains('\t', StringComparison.Ordinal))
            ? Refuse("columns parted by ';' or tabs", "columns parted by ','", "write commas between cells and decimal points in numbers")
            : new TableException(new TableFault(Line, name, found, expected ?? $"a line like {_sample}", "name the columns so in the header"));

    /// <summary>Goes to the next row; lines without anything are passed over.</summary>
    /// <exception cref="TableException">It has not as many cells as the header, or is too long.</exception>
    public bool Next()
    {
        while (Row())
        {
            if (IsBlank())
                continue;
            if (_parser.Count == _names.Length)
                return true;
            Text(_parser.Count - 1, "");
            throw Refuse(
                $"{_parser.Count} cells", $"{_names.Length} as in the header",
                _parser.Count > _names.Length
                    ? "write numbers with a decimal point, not a decimal comma, and put text with commas in quotes"
                    : "fill the row up; an empty cell is not known");
        }

        return false;
    }

    /// <summary>A cell's text without blanks around it; empty where the table has no such column.</summary>
    /// <exception cref="TableException">Its quotes do not fit.</exception>
    public string Cell(TableColumn column) => column.IsThere ? Text(column.Place, column.Name) : "";

    /// <summary>A cell's number; <c>null</c> where it is empty.</summary>
    /// <exception cref="TableException">It is none, or outside the column's range.</exception>
    public double? Number(TableColumn column)
    {
        var cell = Cell(column);
        if (cell.Length == 0)
            return null;
        if (double.TryParse(cell, NumberStyles.Float, CultureInfo.InvariantCulture, out var value) && (column.Range?.Holds(value) ?? double.IsFinite(value)))
            return value;
        throw Refuse(
            column, $"'{cell}'", column.Range is { } range ? $"a number from {range} or an empty cell" : "a number with a decimal point",
            cell.Contains(',', StringComparison.Ordinal) ? "replace the decimal comma by a point" : "mend the cell or empty it");
    }

    /// <summary>A cell's moment, UTC.</summary>
    /// <param name="column">Which.</param>
    /// <param name="remedy">What to do where it has no zone.</param>
    /// <exception cref="TableException">It is none, has no zone or lies in no year of measurements.</exception>
    public DateTimeOffset Time(TableColumn column, string remedy = "convert local times to UTC and end them with Z")
    {
        var cell = Cell(column);
        if (!TableTime.TryRead(cell, out var at))
            throw Refuse(column, $"'{cell}'", TableTime.Expected, remedy);
        return at.Year is >= 1900 and <= 2200 ? at : throw Refuse(column, $"'{cell}'", "a time from 1900 to 2200", "correct the year");
    }

    /// <summary>The fault of a cell of this row.</summary>
    public TableException Refuse(TableColumn column, string found, string expected, string remedy) =>
        new(new TableFault(Line, column.Name, found, expected, remedy));

    /// <summary>The fault of this row.</summary>
    public TableException Refuse(string found, string expected, string remedy) => Refuse(found, expected, remedy, Line);

    public void Dispose() => _parser.Dispose();

    private static TableException Refuse(string found, string expected, string remedy, int line) =>
        new(new TableFault(line, "", found, expected, remedy));

    private bool Row()
    {
        var before = _parser.CharCount;
        var there = _parser.Read();
        if (_text.IsTooLong || (_parser.CharCount - before > LongestLine && _parser.RawRecord.AsSpan().TrimEnd("\r\n").Length > LongestLine))
        {
            throw Refuse(
                $"a line of more than {LongestLine} characters", "a row of measurements",
                "look whether line ends were lost, or whether this is another kind of file", Line + 1);
        }

        _text.RowEnded();
        if (there)
            Line = _parser.Row;
        return there;
    }

    private bool IsBlank() => _parser.Count <= 1 && _parser.RawRecord.AsSpan().IsWhiteSpace();

    /// <summary>A cell without blanks around it. Quotes where the rule has none are taken where only blanks stand around them, else refused.</summary>
    /// <remarks>The parser says of a cell that it is bad only when it is first asked for; so each is asked for here.</remarks>
    private string Text(int place, string column)
    {
        _badCell = false;
        var text = _parser[place].Trim();
        if (!_badCell)
            return text;
        if (text.Length >= 2 && text[0] == '"' && text[^1] == '"' && !text.AsSpan(1, text.Length - 2).Contains('"'))
            return text[1..^1].Trim();
        var open = place == _parser.Count - 1 && !text.Contains('"', StringComparison.Ordinal) && _parser.RawRecord.AsSpan().Count('"') % 2 == 1;
        throw new TableException(open
            ? new TableFault(Line, "", "a quote that is not closed", "one at the end of its cell", "close it; a cell is one line")
            : new TableFault(Line, column, "a quote inside a cell", "the whole cell in quotes, and each quote in it twice", "write it so"));
    }
}
