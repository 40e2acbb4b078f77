using System.Net;
using System.Net.Security;
using System.Net.Sockets;
using MQTTnet.Adapter;
using MQTTnet.Diagnostics.Logger;
using MQTTnet.Formatter;
using MQTTnet.Implementations;
using MQTTnet.Server;

namespace PavementWatch.Server.Broker;

/// <summary>Takes TCP connections, with TLS where there is a certificate, and hands them to the MQTT server behind a <see cref="PacketGuard"/>.</summary>
internal sealed class Listener(
    IPEndPoint endpoint, Func<SslStreamCertificateContext>? certificate, BrokerOptions options, ConnectionLimits places, BrokerAccess doorkeeper, ILogger logger)
    : IMqttServerAdapter
{
    private const int Backlog = 128;
    private const int FirstPacketBytes = 16 * 1024;
    private readonly CancellationTokenSource _stop = new();
    private TcpListener? _listener;

    public Func<IMqttChannelAdapter, Task> ClientHandler { get; set; } = _ => Task.CompletedTask;

    /// <summary>The port listened on, also when a free one was asked for; 0 before the start.</summary>
    public int Port => (_listener?.LocalEndpoint as IPEndPoint)?.Port ?? 0;

    public Task StartAsync(MqttServerOptions serverOptions, IMqttNetLogger libraryLog)
    {
        var listener = new TcpListener(endpoint);
        try
        {
            listener.Start(Backlog);
        }
        catch (SocketException failure)
        {
            listener.Dispose();
            throw new IOException(
                $"the broker cannot listen on {endpoint}: {failure.Message}; "
                + "look for another broker there (ss -ltnp), or set Broker:Port or Broker:Tls:Port",
                failure);
        }

        _listener = listener;
        Log.Listening(logger, (IPEndPoint)listener.LocalEndpoint, certificate is not null);
        _ = AcceptAsync(listener, serverOptions, libraryLog, _stop.Token);
        return Task.CompletedTask;
    }

    public async Task StopAsync()
    {
        await _stop.CancelAsync();
        _listener?.Stop();
    }

    public void Dispose()
    {
        _listener?.Dispose();
        _stop.Dispose();
    }

    private async Task AcceptAsync(TcpListener listener, MqttServerOptions serverOptions, IMqttNetLogger libraryLog, CancellationToken stop)
    {
        while (!stop.IsCancellationRequested)
        {
            try
            {
                var socket = await listener.AcceptSocketAsync(stop);
                var address = Address(socket);
                var (place, fault) = places.Take(address, socket.Dispose);
                if (place is null)
                {
                    doorkeeper.TurnAway(BrokerReason.TooManyConnections, address.ToString(), fault!);
                    socket.Dispose();
                    continue;
                }

                _ = ServeAsync(socket, place, serverOptions, libraryLog, stop);
            }
            catch (OperationCanceledException)
            {
                return;
            }
            catch (Exception failure) when (failure is SocketException or ObjectDisposedException)
            {
                // One connection broke before it was taken, or the listener is closing.
                if (failure is ObjectDisposedException)
                    return;
                Log.AcceptFailed(logger, failure);
            }
        }
    }

    private async Task ServeAsync(
        Socket socket, ConnectionLimits.Place place, MqttServerOptions serverOptions, IMqttNetLogger libraryLog, CancellationToken stop)
    {
        using var taken = place;
        var remote = place.Address.ToString();
        try
        {
            socket.NoDelay = true;
            // The socket goes, whatever waits for it: the handshake, or a library that waits for its first packet.
            using var patience = CancellationTokenSource.CreateLinkedTokenSource(stop);
            using var end = patience.Token.Register(socket.Dispose);
            patience.CancelAfter(options.ConnectPatience);
            await using var stream = await OpenAsync(new NetworkStream(socket, ownsSocket: true), patience.Token);
            await using var guard = new PacketGuard(
                stream, FirstPacketBytes, options.MaxPacketBytes,
                bytes => doorkeeper.TurnAway(
                    BrokerReason.PacketTooLarge, remote, $"announced a packet of {bytes} B, expected at most {options.MaxPacketBytes} B ({FirstPacketBytes} B to sign in)"),
                () =>
                {
                    patience.CancelAfter(Timeout.InfiniteTimeSpan);
                    place.Spoken();
                });
            using var channel = new MqttTcpChannel(guard, socket.LocalEndPoint, socket.RemoteEndPoint, null);
            var formatter = new MqttPacketFormatterAdapter(new MqttBufferWriter(serverOptions.WriterBufferSize, serverOptions.WriterBufferSizeMax));
            using var adapter = new MqttChannelAdapter(channel, formatter, libraryLog);
            await ClientHandler(adapter);
        }
        catch (Exception failure) when (failure is IOException or SocketException or ObjectDisposedException
            or OperationCanceledException or System.Security.Authentication.AuthenticationException
            or System.Security.Cryptography.CryptographicException or UnauthorizedAccessException)
        {
            doorkeeper.Ended(remote, failure.Message);
        }
        finally
        {
            socket.Dispose();
        }
    }

    private async Task<Stream> OpenAsync(Stream stream, CancellationToken patience)
    {
        if (certificate is null)
            return stream;
        var encrypted = new SslStream(stream);
        try
        {
            await encrypted.AuthenticateAsServerAsync(
                new SslServerAuthenticationOptions { ServerCertificateContext = certificate() }, patience);
            return encrypted;
        }
        catch
        {
            await encrypted.DisposeAsync();
            throw;
        }
    }

    private static IPAddress Address(Socket socket)
    {
        try
        {
            return (socket.RemoteEndPoint as IPEndPoint)?.Address ?? IPAddress.None;
        }
        catch (SocketException)
        {
            return IPAddress.None;
        }
    }
}
