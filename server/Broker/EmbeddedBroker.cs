using System.Net;
using System.Net.Security;
using System.Security.Cryptography.X509Certificates;
using Microsoft.Extensions.Options;
using MQTTnet;
using MQTTnet.Protocol;
using MQTTnet.Server;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Broker;

/// <summary>The MQTT broker inside this process. A pack is acknowledged after its readings are durable, with what became of it.</summary>
/// <remarks>
/// Reason codes of the PUBACK (MQTT 5.0, section 3.4.2.1): 0x00 stored, what was kept out is in the reason string;
/// 0x99 these bytes will never be taken, being malformed or too many; 0x87 not this gateway's topic; 0x80 could not be
/// kept just now, send it again; 0x97 too much at once, send it again later; 0x83 some of it is dated by another clock: the rest is stored, keep that and send it later.
/// </remarks>
internal sealed class EmbeddedBroker : IHostedService, IBroker, IDisposable
{
    // No client identifier that the doorkeeper lets in begins with a slash.
    private const string ServersOwnId = "/server";

    private readonly BrokerOptions _options;
    private readonly BrokerAccess _doorkeeper;
    private readonly Inbox _inbox;
    private readonly GatewayStatusBoard _board;
    private readonly OwnAuthority _authority;
    private readonly ILogger<EmbeddedBroker> _logger;
    private readonly RetainedFile _retained;
    private readonly Listener[] _listeners;
    private readonly GatewayQuota _quota;
    private readonly RefusalLog _news;
    private readonly TimeProvider _time;
    private readonly ConnectionLimits _places;
    private readonly MqttServer _server;

    public EmbeddedBroker(
        IOptions<BrokerOptions> options,
        IOptions<StoreOptions> store,
        BrokerAccess doorkeeper,
        Inbox inbox,
        GatewayStatusBoard board,
        OwnAuthority authority,
        GatewayQuota quota,
        RefusalLog news,
        TimeProvider time,
        ILogger<EmbeddedBroker> logger)
    {
        (_options, _doorkeeper, _inbox, _board, _authority, _logger) = (options.Value, doorkeeper, inbox, board, authority, logger);
        (_quota, _news, _time, _places) = (quota, news, time, new ConnectionLimits(_options.MaxConnections, _options.MaxConnectionsPerAddress ?? Math.Max(1, _options.MaxConnections / 4)));
        _retained = new RetainedFile(RetainedPath(_options, store.Value), logger);
        _listeners = [.. Listeners()];
        // Sessions live on while a gateway is away: settings published meanwhile reach it.
        var serverOptions = new MqttServerOptionsBuilder().WithoutDefaultEndpoint().WithPersistentSessions()
            .WithMaxPendingMessagesPerClient(16).Build();
        _server = new MqttServer(serverOptions, _listeners, new LibraryLog(logger));
        _server.ValidatingConnectionAsync += doorkeeper.ConnectAsync;
        _server.InterceptingSubscriptionAsync += doorkeeper.SubscribeAsync;
        _server.InterceptingPublishAsync += TakeAsync;
        _server.ClientConnectedAsync += ConnectedAsync;
        _server.ClientDisconnectedAsync += DisconnectedAsync;
        _server.LoadingRetainedMessageAsync += LoadRetainedAsync;
        _server.RetainedMessageChangedAsync += change => _retained.SaveAsync(change.StoredRetainedMessages);
    }

    /// <inheritdoc />
    public bool IsUp => _server.IsStarted;

    /// <inheritdoc />
    public int Port => _options.Address.Length > 0 ? _listeners[0].Port : 0;

    /// <summary>Port with TLS; 0 without.</summary>
    public int TlsPort => _options.Tls.IsOn ? _listeners[^1].Port : 0;

    public Task StartAsync(CancellationToken cancellationToken)
    {
        // What is wrong with the certificate is said at the start, not at the first gateway.
        if (_options.Tls.Own)
            _ = _authority.Context;
        return _server.StartAsync();
    }

    public Task StopAsync(CancellationToken cancellationToken) =>
        _server.IsStarted ? _server.StopAsync(new MqttServerStopOptions()) : Task.CompletedTask;

    public void Dispose()
    {
        _server.Dispose();
        foreach (var listener in _listeners)
            listener.Dispose();
        _retained.Dispose();
    }

    /// <inheritdoc />
    public Task PublishSettingsAsync(GatewayId gateway, ReadOnlyMemory<byte> settings, CancellationToken cancellationToken)
    {
        var message = new MqttApplicationMessageBuilder().WithTopic(Topics.Settings(gateway)).WithPayload(settings.ToArray())
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).WithRetainFlag().Build();
        return _server.InjectApplicationMessage(
            new InjectedMqttApplicationMessage(message) { SenderClientId = ServersOwnId }, cancellationToken);
    }

    /// <inheritdoc />
    public async Task DisconnectAsync(GatewayId gateway, CancellationToken cancellationToken)
    {
        // First: who is signing in just now, with what was good, is found out when it is in.
        _doorkeeper.EndTurn(gateway);
        if (!_server.IsStarted)
            return;
        foreach (var session in (await _server.GetSessionsAsync()).Where(s => BrokerAccess.GatewayOf(s.Items) == gateway))
        {
            await _server.DisconnectClientAsync(session.Id, new MqttServerClientDisconnectOptions
            {
                ReasonCode = MqttDisconnectReasonCode.NotAuthorized,
                ReasonString = "what this gateway may do has changed; sign in again",
            });
            await session.DeleteAsync();
        }

        _board.Gone(gateway);
        Log.RightEnded(_logger, gateway);
    }

    /// <inheritdoc />
    public async Task ForgetAsync(GatewayId gateway, CancellationToken cancellationToken)
    {
        await DisconnectAsync(gateway, cancellationToken);
        if (!_server.IsStarted)
            return;
        foreach (var topic in new[] { Topics.Status(gateway), Topics.Settings(gateway) })
        {
            // An empty message clears what is retained (MQTT 5.0, section 3.3.1.3).
            var nothing = new MqttApplicationMessageBuilder().WithTopic(topic).WithRetainFlag()
                .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build();
            await _server.InjectApplicationMessage(
                new InjectedMqttApplicationMessage(nothing) { SenderClientId = ServersOwnId }, cancellationToken);
        }

        _board.Forget(gateway);
    }

    private static string RetainedPath(BrokerOptions options, StoreOptions store) =>
        options.RetainedPath.Length > 0
            ? options.RetainedPath
            : Path.Combine(Path.GetDirectoryName(Path.GetFullPath(store.Path)) ?? ".", "retained.json");

    private IEnumerable<Listener> Listeners()
    {
        if (_options.Address.Length > 0)
            yield return new Listener(new IPEndPoint(IPAddress.Parse(_options.Address), _options.Port), null, _options, _places, _doorkeeper, _logger);
        if (_options.Tls is { IsOn: true } tls)
        {
            yield return new Listener(new IPEndPoint(IPAddress.Parse(tls.Address), tls.Port), Certificates(tls), _options, _places, _doorkeeper, _logger);
        }
    }

    /// <summary>What to show each connection; the own certificate may be renewed between two.</summary>
    private Func<SslStreamCertificateContext> Certificates(BrokerTlsOptions tls)
    {
        if (tls.Own)
            return () => _authority.Context;
        var certificate = X509Certificate2.CreateFromPemFile(tls.CertificateFile, tls.KeyFile.Length > 0 ? tls.KeyFile : null);
        var chain = new X509Certificate2Collection();
        chain.ImportFromPemFile(tls.CertificateFile);
        var context = SslStreamCertificateContext.Create(certificate, chain, offline: true);
        return () => context;
    }

    // The library sends PUBACK when this returns. It must not throw: that would end the connection.
    private async Task TakeAsync(InterceptingPublishEventArgs publish)
    {
        if (publish.ClientId == ServersOwnId)
            return;
        var gateway = BrokerAccess.GatewayOf(publish.SessionItems);
        publish.ProcessPublish = false;
        if (!await WaitAsync(gateway, publish))
            return;
        if (!_doorkeeper.IsCurrent(publish.SessionItems))
        {
            // Kept by the gateway: after it has signed in anew it may send it again.
            Answer(publish, MqttPubAckReasonCode.UnspecifiedError, "what this gateway may do has changed; sign in again, then send it again");
            publish.CloseConnection = true;
            return;
        }

        try
        {
            var bad = false;
            switch (_doorkeeper.MayPublish(gateway, publish.ApplicationMessage.Topic ?? ""))
            {
                case TopicKind.Readings:
                    var outcome = await _inbox.ReadingsAsync(gateway, publish.ApplicationMessage, _options.MaxPayloadBytes, isQueued: false);
                    Answer(publish, outcome);
                    bad = outcome is IngestOutcome.Refused or IngestOutcome.Accepted { StoredCount: 0, DuplicateCount: 0, RefusedCount: > 0 };
                    break;
                case TopicKind.Status:
                    var fault = _inbox.Status(gateway, publish.ApplicationMessage, isOld: false);
                    publish.ProcessPublish = fault is null;
                    bad = fault is not null;
                    if (fault is not null)
                        Answer(publish, MqttPubAckReasonCode.PayloadFormatInvalid, fault);
                    break;
                default:
                    bad = true;
                    Answer(publish, MqttPubAckReasonCode.NotAuthorized, $"a gateway publishes below its own name only: {Topics.Readings(gateway)}");
                    break;
            }

            if (bad && !_quota.TakeBad(gateway))
            {
                publish.CloseConnection = true;
                _doorkeeper.TurnAway(
                    BrokerReason.TooManyBadPacks, gateway.Value, "sends more that is refused than it may; its connection ends each time. Look at its settings and its log");
            }
        }
#pragma warning disable CA1031 // The loop's edge: whatever it was, the gateway keeps the pack and sends it again.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            if (_news.IsNews(gateway.Value, BrokerReason.PackFailed))
                Log.PackFailed(_logger, gateway, failure);
            Answer(publish, MqttPubAckReasonCode.UnspecifiedError, "could not be handled just now; send it again");
        }
    }

    /// <summary>Holds a message back while its gateway sends faster than it may. The connection's next one is not read meanwhile.</summary>
    /// <returns>Whether it is to be looked at now; else it is answered.</returns>
    private async Task<bool> WaitAsync(GatewayId gateway, InterceptingPublishEventArgs publish)
    {
        var isStatus = Topics.TryParse(publish.ApplicationMessage.Topic, out _, out var kind) && kind == TopicKind.Status;
        var wait = _quota.Take(gateway, isStatus);
        if (wait == TimeSpan.Zero)
            return true;
        if (_news.IsNews(gateway.Value, BrokerReason.TooManyMessages))
            Log.Slowed(_logger, gateway, isStatus ? "statuses" : "messages");
        try
        {
            await Task.Delay(wait ?? GatewayQuota.LongestWait, _time, publish.CancellationToken);
            if (wait is not null)
                return true;
            Answer(publish, MqttPubAckReasonCode.QuotaExceeded, "this gateway sends more than it may; send it again later");
        }
        catch (OperationCanceledException)
        {
            Answer(publish, MqttPubAckReasonCode.UnspecifiedError, "the connection ended; send it again");
        }

        return false;
    }

    private static void Answer(InterceptingPublishEventArgs publish, IngestOutcome outcome)
    {
        switch (outcome)
        {
            case IngestOutcome.Accepted { RefusedCount: > 0 } accepted:
                Answer(publish, MqttPubAckReasonCode.Success, accepted.ToString());
                break;
            case IngestOutcome.Refused refused:
                Answer(publish, MqttPubAckReasonCode.PayloadFormatInvalid, refused.Detail);
                break;
            case IngestOutcome.OtherClock waits:
                Answer(publish, MqttPubAckReasonCode.ImplementationSpecificError, waits.Detail);
                break;
            case IngestOutcome.SetAside aside:
                Answer(publish, MqttPubAckReasonCode.Success, aside.Detail);
                break;
            case IngestOutcome.StorageFaults:
                Answer(publish, MqttPubAckReasonCode.UnspecifiedError, "the readings could not be kept just now; send them again");
                break;
        }
    }

    private static void Answer(InterceptingPublishEventArgs publish, MqttPubAckReasonCode code, string text) =>
        (publish.Response.ReasonCode, publish.Response.ReasonString) = (code, text);

    private async Task ConnectedAsync(ClientConnectedEventArgs connection)
    {
        var gateway = BrokerAccess.GatewayOf(connection.SessionItems);
        if (_news.IsNews(gateway.Value, BrokerReason.Connected))
            Log.Connected(_logger, gateway);
        if (!_doorkeeper.IsCurrent(connection.SessionItems))
            await _server.DisconnectClientAsync(connection.ClientId, new MqttServerClientDisconnectOptions { ReasonCode = MqttDisconnectReasonCode.NotAuthorized });
    }

    private Task DisconnectedAsync(ClientDisconnectedEventArgs connection)
    {
        var gateway = BrokerAccess.GatewayOf(connection.SessionItems);
        // A second connection of the gateway, such as its check, says nothing about the first.
        if (connection.ClientId == gateway.Value && connection.DisconnectType != MqttClientDisconnectType.Takeover)
            _board.Gone(gateway);
        if (_news.IsNews(gateway.Value, BrokerReason.Disconnected))
            Log.Disconnected(_logger, gateway, connection.DisconnectType);
        return Task.CompletedTask;
    }

    private async Task LoadRetainedAsync(LoadingRetainedMessagesEventArgs loading)
    {
        loading.LoadedRetainedMessages = await _retained.LoadAsync();
        foreach (var message in loading.LoadedRetainedMessages)
        {
            if (Topics.TryParse(message.Topic, out var gateway, out var kind) && kind == TopicKind.Status)
                _inbox.Status(gateway, message, isOld: true);
        }
    }
}
