using Microsoft.Extensions.Options;
using MQTTnet;
using MQTTnet.Exceptions;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Broker;

/// <summary>
/// Another MQTT 5 broker, to which the server connects. Packs come by a shared subscription and are acknowledged after
/// their readings are durable; while the store fails a pack is tried again here, as a broker sends it again only on
/// reconnecting (MQTT 5.0, section 4.4).
/// </summary>
/// <remarks>
/// That broker has acknowledged a pack to its gateway before we see it. Readings dated by another clock are therefore stored as
/// they are, and a pack's age counts only where the dates say no less: it may have waited in that broker.
/// Who may publish on whose topic is that broker's to enforce: one user a gateway, allowed <c>pavement/v1/{user}/#</c>.
/// </remarks>
internal sealed class ExternalBroker : ServerBackgroundService, IBroker
{
    private readonly BrokerOptions _options;
    private readonly Inbox _inbox;
    private readonly TimeProvider _time;
    private readonly ILogger<ExternalBroker> _logger;
    private readonly IMqttClient _client;

    // A gateway's packs are taken one after the other, those of several gateways together.
    private readonly Dictionary<GatewayId, Task> _underWay = [];
    private CancellationToken _stop;

    public ExternalBroker(IOptions<BrokerOptions> options, Inbox inbox, TimeProvider time, ILogger<ExternalBroker> logger)
    {
        (_options, _inbox, _time, _logger) = (options.Value, inbox, time, logger);
        _client = new MqttClientFactory(new LibraryLog(logger)).CreateMqttClient();
        _client.ApplicationMessageReceivedAsync += TakeAsync;
    }

    private ExternalBrokerOptions Other => _options.External;

    /// <inheritdoc />
    public bool IsUp => _client.IsConnected;

    /// <inheritdoc />
    public int Port => 0;

    /// <inheritdoc />
    public async Task PublishSettingsAsync(GatewayId gateway, ReadOnlyMemory<byte> settings, CancellationToken cancellationToken)
    {
        var message = new MqttApplicationMessageBuilder().WithTopic(Topics.Settings(gateway)).WithPayload(settings.ToArray())
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).WithRetainFlag().Build();
        var result = await _client.PublishAsync(message, cancellationToken);
        if (!result.IsSuccess)
        {
            throw new InvalidOperationException(
                $"broker {Other.Host} refused settings for {gateway}: {result.ReasonCode}; allow user '{Other.User}' to write {Topics.Settings(gateway)}");
        }
    }

    /// <inheritdoc />
    public Task DisconnectAsync(GatewayId gateway, CancellationToken cancellationToken)
    {
        Log.NotOursToEnd(_logger, Other.Host, gateway);
        return Task.CompletedTask;
    }

    /// <inheritdoc />
    public async Task ForgetAsync(GatewayId gateway, CancellationToken cancellationToken)
    {
        await DisconnectAsync(gateway, cancellationToken);
        await PublishSettingsAsync(gateway, ReadOnlyMemory<byte>.Empty, cancellationToken);
    }

    /// <inheritdoc />
    public override async Task StopAsync(CancellationToken cancellationToken)
    {
        await base.StopAsync(cancellationToken);
        if (_client.IsConnected)
            await _client.DisconnectAsync(cancellationToken: cancellationToken);
    }

    /// <inheritdoc />
    public override void Dispose()
    {
        _client.Dispose();
        base.Dispose();
    }

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        _stop = stoppingToken;
        using var timer = new PeriodicTimer(Other.RetryPause, _time);
        do
        {
            try
            {
                if (!_client.IsConnected)
                    await ConnectAsync(stoppingToken);
            }
            catch (Exception failure) when (failure is MqttCommunicationException or MqttProtocolViolationException or IOException
                or InvalidOperationException or OperationCanceledException && !stoppingToken.IsCancellationRequested)
            {
                Log.ExternalAway(_logger, Other.Host, Other.Port, failure.Message, Other.RetryPause);
            }
        }
        while (await timer.WaitForNextTickAsync(stoppingToken));
    }

    private async Task ConnectAsync(CancellationToken cancellationToken)
    {
        var builder = new MqttClientOptionsBuilder().WithTcpServer(Other.Host, Other.Port)
            .WithProtocolVersion(MqttProtocolVersion.V500).WithClientId(Other.ClientId)
            .WithCleanStart(false).WithSessionExpiryInterval((uint)Other.SessionExpiry.TotalSeconds)
            .WithReceiveMaximum((ushort)Other.ReceiveMaximum).WithMaximumPacketSize((uint)_options.MaxPacketBytes);
        if (Other.Tls)
            builder.WithTlsOptions(tls => tls.UseTls());
        if (Other.User.Length > 0)
            builder.WithCredentials(Other.User, Other.ReadPassword());
        var connected = await _client.ConnectAsync(builder.Build(), cancellationToken);
        if (connected.ResultCode != MqttClientConnectResultCode.Success)
            throw new InvalidOperationException($"it answered {connected.ResultCode} {connected.ReasonString}; look at user and password");

        var subscription = new MqttClientSubscribeOptionsBuilder()
            .WithTopicFilter($"$share/{Other.ShareName}/{Topics.ReadingsFilter}", MqttQualityOfServiceLevel.AtLeastOnce)
            .WithTopicFilter(Topics.StatusFilter, MqttQualityOfServiceLevel.AtLeastOnce).Build();
        var subscribed = await _client.SubscribeAsync(subscription, cancellationToken);
        if (subscribed.Items.FirstOrDefault(item => item.ResultCode > MqttClientSubscribeResultCode.GrantedQoS2) is { } refused)
        {
            await _client.DisconnectAsync(cancellationToken: cancellationToken);
            throw new InvalidOperationException(
                $"it refused the subscription {refused.TopicFilter.Topic}: {refused.ResultCode}; allow user '{Other.User}' to read it");
        }

        Log.ExternalConnected(_logger, Other.Host, Other.Port);
    }

    // Called by the client for one message after the other; returns before the message is done with.
    private Task TakeAsync(MqttApplicationMessageReceivedEventArgs received)
    {
        received.AutoAcknowledge = false;
        if (!Topics.TryParse(received.ApplicationMessage.Topic, out var gateway, out var kind))
        {
            Log.Stray(_logger, received.ApplicationMessage.Topic);
            return received.AcknowledgeAsync(_stop);
        }

        if (kind == TopicKind.Status)
        {
            // A retained message is as old as the last status, which may be of last week.
            _inbox.Status(gateway, received.ApplicationMessage, isOld: received.ApplicationMessage.Retain);
            return received.AcknowledgeAsync(_stop);
        }

        var before = _underWay.GetValueOrDefault(gateway, Task.CompletedTask);
        _underWay[gateway] = TakeAfterAsync(before, gateway, received);
        return Task.CompletedTask;
    }

    private async Task TakeAfterAsync(Task before, GatewayId gateway, MqttApplicationMessageReceivedEventArgs received)
    {
        await before;
        try
        {
            var outcome = await _inbox.ReadingsAsync(gateway, received.ApplicationMessage, _options.MaxPayloadBytes, isQueued: true);
            while (outcome is IngestOutcome.StorageFaults)
            {
                await Task.Delay(Other.RetryPause, _time, _stop);
                outcome = await _inbox.ReadingsAsync(gateway, received.ApplicationMessage, _options.MaxPayloadBytes, isQueued: true);
            }

            if (outcome is IngestOutcome.Refused)
                received.ReasonCode = MqttApplicationMessageReceivedReasonCode.PayloadFormatInvalid;
            await received.AcknowledgeAsync(_stop);
        }
#pragma warning disable CA1031 // The edge of a task nobody awaits.
        catch (Exception failure)
#pragma warning restore CA1031
        {
            if (_stop.IsCancellationRequested)
                return;
            Log.PackFailed(_logger, gateway, failure);
            // Not acknowledged, the pack comes again when the client has connected again.
            await _client.TryDisconnectAsync();
        }
    }
}
