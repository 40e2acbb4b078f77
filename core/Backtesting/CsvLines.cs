namespace PavementWatch.Core.Backtesting;

/// <summary>The lines of a text of any length, one buffer long at most in memory.</summary>
/// <param name="reader">The text.</param>
public sealed class CsvLines(TextReader reader)
{
    /// <summary>[characters] Longest line; a longer one is no line of measurements.</summary>
    public const int Longest = 8192;

    private readonly char[] _buffer = new char[8 * Longest];
    private int _begin;
    private int _end;
    private bool _ended;
    private bool _afterReturn;

    /// <summary>Number of the line last given, counted from 1.</summary>
    public int Number { get; private set; }

    /// <summary>Whether the line after those given is longer than <see cref="Longest"/>.</summary>
    public bool IsTooLong { get; private set; }

    /// <summary>Gives the next line as a text of its own.</summary>
    /// <returns>The line; <c>null</c> at the end, or where a line is too long.</returns>
    public string? Next()
    {
        if (IsTooLong || !Next(out var line, out var tooLong))
            return null;
        IsTooLong = tooLong;
        return tooLong ? null : line.ToString();
    }

    /// <summary>Gives the next line, without its end.</summary>
    /// <param name="line">Good until the next call. What is known of it when it is too long.</param>
    /// <param name="tooLong">Whether it is longer than <see cref="Longest"/>; nothing after it can be read.</param>
    /// <returns>Whether there was one.</returns>
    public bool Next(out ReadOnlySpan<char> line, out bool tooLong)
    {
        tooLong = false;
        while (true)
        {
            if (_afterReturn && _begin < _end)
            {
                _afterReturn = false;
                if (_buffer[_begin] == '\n')
                    _begin++;
            }

            var rest = _buffer.AsSpan(_begin, _end - _begin);
            var length = rest.IndexOfAny('\r', '\n');
            if (length < 0 && !_ended && rest.Length <= Longest)
            {
                Fill();
                continue;
            }

            if (length < 0 && rest.IsEmpty)
            {
                line = default;
                return false;
            }

            Number++;
            line = length < 0 ? rest : rest[..length];
            tooLong = line.Length > Longest;
            _begin += line.Length;
            if (length >= 0)
                _afterReturn = _buffer[_begin++] == '\r';
            return true;
        }
    }

    private void Fill()
    {
        _buffer.AsSpan(_begin, _end - _begin).CopyTo(_buffer);
        (_begin, _end) = (0, _end - _begin);
        var read = reader.Read(_buffer, _end, _buffer.Length - _end);
        _end += read;
        _ended = read == 0;
    }
}
