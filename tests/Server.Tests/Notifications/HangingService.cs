using System.Net;
using System.Net.Sockets;
using System.Text;

namespace PavementWatch.Server.Tests.Notifications;

/// <summary>A push service in trouble: takes connections and never answers, or answers without end.</summary>
internal sealed class HangingService : IAsyncDisposable
{
    /// <summary>[B] What an endless answer may come to though nobody reads it: 64 KiB before it is given up, and the machine's buffers on both sides.</summary>
    public const long MostUnread = 1024 * 1024;

    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource _stop = new();
    private readonly bool _answersWithoutEnd;
    private readonly Task _work;
    private long _sent;
    private int _taken;

    public HangingService(bool answersWithoutEnd = false)
    {
        _answersWithoutEnd = answersWithoutEnd;
        _listener.Start(512);
        _work = AcceptAsync();
    }

    public string Origin => $"http://127.0.0.1:{((IPEndPoint)_listener.LocalEndpoint).Port}";

    /// <summary>Connections taken so far.</summary>
    public int Taken => Volatile.Read(ref _taken);

    /// <summary>Bytes that the other side's machine took of answers.</summary>
    public long Sent => Interlocked.Read(ref _sent);

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        await _work;
        _listener.Dispose();
        _stop.Dispose();
    }

    private async Task AcceptAsync()
    {
        var peers = new List<Task>();
        try
        {
            while (true)
            {
                var peer = await _listener.AcceptSocketAsync(_stop.Token);
                Interlocked.Increment(ref _taken);
                peers.Add(ServeAsync(peer));
            }
        }
        catch (OperationCanceledException)
        {
            await Task.WhenAll(peers);
        }
    }

    private async Task ServeAsync(Socket peer)
    {
        using var _ = peer;
        try
        {
            var buffer = new byte[64 * 1024];
            // What this machine holds for the other side counts as sent.
            peer.SendBufferSize = buffer.Length;
            await peer.ReceiveAsync(buffer, _stop.Token);
            if (!_answersWithoutEnd)
                await Task.Delay(Timeout.InfiniteTimeSpan, TimeProvider.System, _stop.Token);
            await peer.SendAsync(Encoding.ASCII.GetBytes("HTTP/1.1 500 Trouble\r\nContent-Length: 9000000000\r\n\r\n"), _stop.Token);
            while (true)
                Interlocked.Add(ref _sent, await peer.SendAsync(buffer, _stop.Token));
        }
        catch (Exception e) when (e is OperationCanceledException or SocketException)
        {
            // The other side has had enough, or the test ends.
        }
    }
}
