namespace PavementWatch.Server.Tables;

/// <summary>
/// A text that ends early where a row of it never ends, so that nobody has to hold it. A byte order mark is left out, and the
/// last line ends as every other, so that a quote left open there is one too.
/// </summary>
/// <param name="inner">The text.</param>
/// <param name="longest">[characters] Most that are given out before a row is complete.</param>
internal sealed class BoundedText(TextReader inner, int longest) : TextReader
{
    private bool _begun;
    private bool _ended;
    private char _last = '\n';
    private int _sinceRow;

    /// <summary>Whether it was ended early.</summary>
    public bool IsTooLong { get; private set; }

    /// <summary>A row is complete; the next may be as long again.</summary>
    public void RowEnded() => _sinceRow = 0;

    public override int Read(char[] buffer, int index, int count)
    {
        if (!_begun)
        {
            _begun = true;
            if (inner.Peek() == '\uFEFF')
                inner.Read();
        }

        // Two characters end a line at most.
        if (_sinceRow > longest + 2)
        {
            IsTooLong = true;
            return 0;
        }

        var read = inner.Read(buffer, index, count);
        _sinceRow += read;
        if (read > 0)
        {
            _last = buffer[index + read - 1];
            return read;
        }

        if (_ended || _last is '\n' or '\r' || count == 0)
            return 0;
        _ended = true;
        buffer[index] = '\n';
        return 1;
    }
}
