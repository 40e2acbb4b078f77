using System.Net;
using System.Net.Sockets;

namespace PavementWatch.Server.Demo;

/// <summary>A piece of network between one gateway and the broker that can be cut and mended: plain TCP on loopback.</summary>
internal sealed class DemoRelay : IAsyncDisposable
{
    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly int _brokerPort;
    private readonly CancellationTokenSource _stop = new();
    private readonly Lock _lock = new();
    private readonly List<TcpClient> _open = [];
    private readonly Task _accepting;
    private bool _cut;
    private volatile bool _losesAnswers;

    public DemoRelay(int brokerPort)
    {
        _brokerPort = brokerPort;
        _listener.Start();
        Port = ((IPEndPoint)_listener.LocalEndpoint).Port;
        _accepting = AcceptAsync(_stop.Token);
    }

    public int Port { get; }

    /// <summary>Drops what is connected and lets nobody through until <see cref="Mend"/>.</summary>
    public void Cut()
    {
        lock (_lock)
        {
            _cut = true;
            _losesAnswers = false;
            CloseAll_NeedsLock();
        }
    }

    /// <summary>Carries what the gateway sends and loses what the broker answers, until <see cref="Cut"/>.</summary>
    public void LoseAnswers() => _losesAnswers = true;

    public void Mend()
    {
        lock (_lock)
            _cut = false;
    }

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        _listener.Stop();
        lock (_lock)
            CloseAll_NeedsLock();
        await _accepting;
        _stop.Dispose();
    }

    private async Task AcceptAsync(CancellationToken cancellationToken)
    {
        var pipes = new List<Task>();
        try
        {
            while (true)
            {
                var gateway = await _listener.AcceptTcpClientAsync(cancellationToken);
                pipes.RemoveAll(pipe => pipe.IsCompleted);
                pipes.Add(CarryAsync(gateway, cancellationToken));
            }
        }
        catch (OperationCanceledException)
        {
            // The demo is over.
        }

        await Task.WhenAll(pipes);
    }

    private async Task CarryAsync(TcpClient gateway, CancellationToken cancellationToken)
    {
        using var broker = new TcpClient { NoDelay = true };
        try
        {
            gateway.NoDelay = true;
            lock (_lock)
            {
                if (_cut)
                    return;
                _open.Add(gateway);
                _open.Add(broker);
            }

            await broker.ConnectAsync(IPAddress.Loopback, _brokerPort, cancellationToken);
            await using var near = gateway.GetStream();
            await using var far = broker.GetStream();
            await Task.WhenAny(near.CopyToAsync(far, cancellationToken), AnswerAsync(far, near, cancellationToken));
        }
        catch (Exception error) when (error is IOException or SocketException or OperationCanceledException or ObjectDisposedException)
        {
            // A cut wire looks like this from both ends.
        }
        finally
        {
            gateway.Dispose();
            lock (_lock)
            {
                _open.Remove(gateway);
                _open.Remove(broker);
            }
        }
    }

    private async Task AnswerAsync(NetworkStream broker, NetworkStream gateway, CancellationToken cancellationToken)
    {
        var bytes = new byte[16 * 1024];
        while (await broker.ReadAsync(bytes, cancellationToken) is > 0 and var count)
        {
            if (!_losesAnswers)
                await gateway.WriteAsync(bytes.AsMemory(0, count), cancellationToken);
        }
    }

    private void CloseAll_NeedsLock()
    {
        foreach (var client in _open)
            client.Close();
        _open.Clear();
    }
}
