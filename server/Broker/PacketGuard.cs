namespace PavementWatch.Server.Broker;

/// <summary>Passes on what a connection sends while watching the packets' announced lengths.</summary>
/// <remarks>
/// The MQTT library makes room for a packet as soon as its length is announced: five bytes from a stranger would cost
/// up to 256 MiB. This reads along (MQTT 5.0, section 2.1.4: one byte of type, then one to four of length) and ends the
/// connection at an announcement over the limit, which is small until the first packet, CONNECT, is through; that is told.
/// </remarks>
internal sealed class PacketGuard(Stream inner, int firstPacketBytes, int packetBytes, Action<long> tooLarge, Action? firstPacketRead = null) : Stream
{
    private int _limit = firstPacketBytes;
    private long _left;
    private int _lengthBytes = -1;
    private long _length;
    private bool _firstIsRead;

    public override bool CanRead => true;

    public override bool CanSeek => false;

    public override bool CanWrite => true;

    public override long Length => throw new NotSupportedException();

    public override long Position
    {
        get => throw new NotSupportedException();
        set => throw new NotSupportedException();
    }

    public override async ValueTask<int> ReadAsync(Memory<byte> buffer, CancellationToken cancellationToken = default)
    {
        var count = await inner.ReadAsync(buffer, cancellationToken).ConfigureAwait(false);
        Watch(buffer.Span[..count]);
        return count;
    }

    public override Task<int> ReadAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken) =>
        ReadAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

    public override int Read(byte[] buffer, int offset, int count)
    {
        var read = inner.Read(buffer, offset, count);
        Watch(buffer.AsSpan(offset, read));
        return read;
    }

    public override ValueTask WriteAsync(ReadOnlyMemory<byte> buffer, CancellationToken cancellationToken = default) =>
        inner.WriteAsync(buffer, cancellationToken);

    public override Task WriteAsync(byte[] buffer, int offset, int count, CancellationToken cancellationToken) =>
        inner.WriteAsync(buffer.AsMemory(offset, count), cancellationToken).AsTask();

    public override void Write(byte[] buffer, int offset, int count) => inner.Write(buffer, offset, count);

    public override void Flush() => inner.Flush();

    public override Task FlushAsync(CancellationToken cancellationToken) => inner.FlushAsync(cancellationToken);

    public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

    public override void SetLength(long value) => throw new NotSupportedException();

    protected override void Dispose(bool disposing)
    {
        if (disposing)
            inner.Dispose();
        base.Dispose(disposing);
    }

    private void Watch(ReadOnlySpan<byte> bytes)
    {
        while (bytes.Length > 0)
        {
            if (_left > 0)
            {
                var body = (int)Math.Min(_left, bytes.Length);
                _left -= body;
                bytes = bytes[body..];
                Read();
                continue;
            }

            WatchHeader(bytes[0]);
            bytes = bytes[1..];
        }
    }

    private void WatchHeader(byte next)
    {
        if (_lengthBytes < 0)
        {
            (_lengthBytes, _length) = (0, 0);
            return;
        }

        _length |= (long)(next & 0x7F) << (7 * _lengthBytes++);
        if ((next & 0x80) != 0 && _lengthBytes < 4)
            return;
        if (_length > _limit || (next & 0x80) != 0)
        {
            tooLarge(_length);
            throw new IOException($"announced a packet of {_length} B, expected at most {_limit} B");
        }

        (_left, _lengthBytes, _limit) = (_length, -1, packetBytes);
        Read();
    }

    private void Read()
    {
        if (_left > 0 || _firstIsRead)
            return;
        _firstIsRead = true;
        firstPacketRead?.Invoke();
    }
}
