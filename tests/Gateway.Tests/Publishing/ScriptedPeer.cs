using System.Net;
using System.Net.Security;
using System.Net.Sockets;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>Somebody on a loopback port who answers no more of MQTT than it is told to: a firewall, a hung broker, another program.</summary>
internal sealed class ScriptedPeer : IAsyncDisposable
{
    private const int Connect = 1;
    private const int Subscribe = 8;

    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource _ended = new();
    private readonly TaskCompletionSource _greeted = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly Task _accepting;

    public ScriptedPeer()
    {
        _listener.Start();
        _accepting = AcceptAsync();
    }

    public int Port => ((IPEndPoint)_listener.LocalEndpoint).Port;

    /// <summary>Whether it lets the gateway in.</summary>
    public bool AnswersSignIn { get; init; }

    /// <summary>Whether it acknowledges the subscription.</summary>
    public bool AnswersSubscription { get; init; }

    /// <summary>Its certificate with those between it and the authority; no TLS when <c>null</c>.</summary>
    public SslStreamCertificateContext? Certificate { get; init; }

    /// <summary>Ends when the first bytes of somebody came in.</summary>
    public Task Greeted => _greeted.Task;

    public async ValueTask DisposeAsync()
    {
        // Stopped under it, a loop that is about to accept would say that nobody listens.
        await _ended.CancelAsync();
        await _accepting;
        _listener.Stop();
        _ended.Dispose();
    }

    private async Task AcceptAsync()
    {
        List<Task> talks = [];
        try
        {
            while (true)
                talks.Add(TalkAsync(await _listener.AcceptTcpClientAsync(_ended.Token)));
        }
        catch (Exception error) when (error is OperationCanceledException or SocketException or ObjectDisposedException)
        {
            await Task.WhenAll(talks);
        }
    }

    private async Task TalkAsync(TcpClient client)
    {
        using var _ = client;
        try
        {
            Stream stream = client.GetStream();
            if (Certificate is not null)
            {
                var tls = new SslStream(stream);
                await tls.AuthenticateAsServerAsync(new SslServerAuthenticationOptions { ServerCertificateContext = Certificate }, _ended.Token);
                stream = tls;
            }

            await using var talk = stream;
            while (true)
            {
                var (type, body) = await ReadPacketAsync(talk);
                if (type == Connect && AnswersSignIn)
                    await talk.WriteAsync(new byte[] { 0x20, 3, 0, 0, 0 }, _ended.Token);
                if (type == Subscribe && AnswersSubscription)
                    await talk.WriteAsync(new byte[] { 0x90, 4, body[0], body[1], 0, 1 }, _ended.Token);
            }
        }
        catch (Exception error) when (error is OperationCanceledException or IOException or SocketException or ObjectDisposedException or System.Security.Authentication.AuthenticationException)
        {
            // The gateway went, or the test is over.
        }
    }

    private async Task<(int Type, byte[] Body)> ReadPacketAsync(Stream stream)
    {
        var one = new byte[1];
        await stream.ReadExactlyAsync(one, _ended.Token);
        _greeted.TrySetResult();
        var type = one[0] >> 4;
        var (length, shift) = (0, 0);
        do
        {
            await stream.ReadExactlyAsync(one, _ended.Token);
            length |= (one[0] & 0x7F) << shift;
            shift += 7;
        }
        while (one[0] >= 0x80);
        var body = new byte[length];
        await stream.ReadExactlyAsync(body, _ended.Token);
        return (type, body);
    }
}
