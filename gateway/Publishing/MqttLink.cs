using System.Buffers;
using System.Globalization;
using System.Net.Sockets;
using System.Security.Cryptography;
using MQTTnet;
using MQTTnet.Diagnostics.PacketInspection;
using MQTTnet.Exceptions;
using MQTTnet.Formatter;
using MQTTnet.Protocol;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;

namespace PavementWatch.Gateway.Publishing;

/// <summary>One connection to the broker, from greeting to loss. MQTT 5, quality of service 1.</summary>
internal sealed class MqttLink : IAsyncDisposable
{
    private readonly IMqttClient _client;
    private readonly PublishingOptions _options;
    private readonly GatewayId _gateway;
    private readonly CancellationTokenSource _lost = new();
    private string _step = "";

    private MqttLink(IMqttClient client, PublishingOptions options, GatewayId gateway)
    {
        (_client, _options, _gateway) = (client, options, gateway);
        _client.DisconnectedAsync += end =>
        {
            IsTakenOver = end.Reason == MqttClientDisconnectReason.SessionTakenOver;
            LostBecause = IsTakenOver ? TakenOver(gateway) : $"the connection to {options.BrokerHost}:{options.Port} was lost ({end.Reason})";
            return _lost.CancelAsync();
        };
    }

    /// <summary>Cancelled when the connection is lost.</summary>
    public CancellationToken Lost => _lost.Token;

    /// <summary>Why it was.</summary>
    public string LostBecause { get; private set; } = "the connection was lost";

    /// <summary>Whether another connection under this gateway's name ended it.</summary>
    public bool IsTakenOver { get; private set; }

    /// <summary>What ends a connection under a name that somebody else uses too, with the remedy.</summary>
    public static string TakenOver(GatewayId gateway) =>
        $"another connection signed in as {gateway}; {OneName}";

    /// <summary>The same, where the broker only closes the connection and does not say why.</summary>
    public static string PerhapsTakenOver(GatewayId gateway) =>
        $"each connection ends soon after it was made; unless the network drops them, another one signs in as {gateway} too; {OneName}";

    private const string OneName = "two gateways must not run under one name: enrol each with a code of its own, and look whether a copied card or an old gateway still runs";

    /// <summary>Connects, leaves the will and subscribes to the settings; each of the two within <see cref="PublishingOptions.AnswerTimeout"/>.</summary>
    /// <param name="options">Where, as whom.</param>
    /// <param name="gateway">Who.</param>
    /// <param name="onSettings">What to do with each settings message; <c>null</c> connects beside the gateway that runs, leaving its session, status and settings alone.</param>
    /// <param name="cancellationToken">Ends the attempt.</param>
    /// <exception cref="LinkException">It did not come about; the message has the remedy.</exception>
    public static async Task<MqttLink> ConnectAsync(
        PublishingOptions options, GatewayId gateway, Action<byte[]>? onSettings, CancellationToken cancellationToken)
    {
        var factory = new MqttClientFactory();
        var link = new MqttLink(factory.CreateMqttClient(), options, gateway);
        string? certificateFault = null;
        var isSignedIn = false;
        try
        {
            link._client.ApplicationMessageReceivedAsync += message =>
            {
                if (message.ApplicationMessage.Topic == Topics.Settings(gateway))
                    onSettings?.Invoke(message.ApplicationMessage.Payload.ToArray());
                return Task.CompletedTask;
            };
            var greeting = link.Greeting(fault => certificateFault = fault, beside: onSettings is null);
            var answer = await link.InTimeAsync(options.Tls ? "no connection, or no TLS on it" : "no connection", token => link.ConnectAsync(greeting, token), cancellationToken);
            if (answer.ResultCode != MqttClientConnectResultCode.Success)
                throw new LinkException(Refusal(answer, options, gateway));
            isSignedIn = true;
            if (onSettings is null)
                return link;
            var subscription = factory.CreateSubscribeOptionsBuilder()
                .WithTopicFilter(Topics.Settings(gateway), MqttQualityOfServiceLevel.AtLeastOnce).Build();
            await link.InTimeAsync("signed in, but no answer to the subscription to its settings", token => link._client.SubscribeAsync(subscription, token), cancellationToken);
            return link;
        }
        catch (Exception error) when (error is not OperationCanceledException || !cancellationToken.IsCancellationRequested)
        {
            var taken = isSignedIn && await link.IsLostAsync() && link.IsTakenOver;
            await link.DisposeAsync();
            throw certificateFault is not null ? new LinkException(certificateFault, error)
                : taken ? new LinkException(link.LostBecause, error) { IsTakenOver = true }
                : error as LinkException ?? new LinkException(Fault(error, options), error);
        }
    }

    /// <summary>Sends one pack and waits for the broker's acknowledgement.</summary>
    /// <param name="payload">The pack.</param>
    /// <param name="boot">The run that counts it.</param>
    /// <param name="sequence">Its number in that run.</param>
    /// <param name="age">How long ago its newest reading was taken; <c>null</c> for a backlog, which says nothing of now.</param>
    /// <param name="cancellationToken">Ends the attempt.</param>
    public Task<PackAnswer> SendPackAsync(
        ReadOnlyMemory<byte> payload, string boot, long sequence, TimeSpan? age, CancellationToken cancellationToken)
    {
        var message = new MqttApplicationMessageBuilder()
            .WithTopic(Topics.Readings(_gateway))
            .WithPayload(payload.ToArray())
            .WithContentType(ReadingPack.MediaType)
            .WithUserProperty("boot", Utf8(boot))
            .WithUserProperty("seq", Utf8(sequence.ToString(CultureInfo.InvariantCulture)));
        if (age is { } known)
            message.WithUserProperty("age", Utf8(((long)known.TotalMilliseconds).ToString(CultureInfo.InvariantCulture)));
        return SendAsync(message, cancellationToken);
    }

    /// <summary>Sends a pack with nothing in it: tries the whole way and changes nothing.</summary>
    public Task<PackAnswer> SendNothingAsync(CancellationToken cancellationToken) =>
        SendAsync(
            new MqttApplicationMessageBuilder().WithTopic(Topics.Readings(_gateway)).WithPayload(ReadingPack.Write([])).WithContentType(ReadingPack.MediaType),
            cancellationToken);

    /// <summary>Leaves the status for whoever asks later.</summary>
    public Task<PackAnswer> SendStatusAsync(byte[] report, CancellationToken cancellationToken) =>
        SendAsync(
            new MqttApplicationMessageBuilder().WithTopic(Topics.Status(_gateway)).WithPayload(report).WithRetainFlag(),
            cancellationToken);

    /// <summary>Says goodbye: the broker does not publish the will.</summary>
    public async Task CloseAsync(CancellationToken cancellationToken) =>
        await _client.DisconnectAsync(new MqttClientDisconnectOptions(), cancellationToken);

    public ValueTask DisposeAsync()
    {
        // The source of Lost stays: the client may still report its end, and it holds no timer.
        _client.Dispose();
        return ValueTask.CompletedTask;
    }

    private async Task<MqttClientConnectResult> ConnectAsync(MqttClientOptions greeting, CancellationToken cancellationToken)
    {
        // The first packet goes out once the connection, TLS included, stands.
        Task Greeted(InspectMqttPacketEventArgs packet)
        {
            if (packet.Direction == MqttPacketFlowDirection.Outbound)
                _step = "connected, but no answer to the sign-in";
            return Task.CompletedTask;
        }

        _client.InspectPacketAsync += Greeted;
        try
        {
            return await _client.ConnectAsync(greeting, cancellationToken);
        }
        finally
        {
            _client.InspectPacketAsync -= Greeted;
        }
    }

    /// <summary>Does one step, which a peer that says nothing cannot hold up.</summary>
    /// <param name="step">What is missing when it does not end.</param>
    /// <param name="work">The step.</param>
    /// <param name="cancellationToken">Ends it.</param>
    private async Task<T> InTimeAsync<T>(string step, Func<CancellationToken, Task<T>> work, CancellationToken cancellationToken)
    {
        _step = step;
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken);
        // Physical time: the broker is as fast as it is, however fast a simulated day runs.
        patience.CancelAfter(_options.AnswerTimeout);
        try
        {
            return await work(patience.Token);
        }
        catch (Exception error) when (patience.IsCancellationRequested && !cancellationToken.IsCancellationRequested)
        {
            throw new LinkException(
                $"{_options.BrokerHost}:{_options.Port} did not answer in {_options.AnswerTimeout.TotalSeconds} s ({_step}); look at the network and the server's firewall, and whether it is a PavementWatch server",
                error);
        }
    }

    private async Task<PackAnswer> SendAsync(MqttApplicationMessageBuilder builder, CancellationToken cancellationToken)
    {
        var message = builder.WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build();
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken, Lost);
        // Physical time: the broker is as fast as it is, however fast a simulated day runs.
        patience.CancelAfter(_options.AnswerTimeout);
        try
        {
            var answer = await _client.PublishAsync(message, patience.Token);
            // A broker that has nobody to hand a pack to says so, and keeps nothing: the server is away. A retained message it keeps.
            return answer.IsSuccess && (message.Retain || answer.ReasonCode != MqttClientPublishReasonCode.NoMatchingSubscribers) ? new PackAnswer.Taken()
                : answer.ReasonCode switch
                {
                    MqttClientPublishReasonCode.PayloadFormatInvalid => new PackAnswer.Refused(Words(answer)),
                    MqttClientPublishReasonCode.ImplementationSpecificError => new PackAnswer.OtherClock(Words(answer)),
                    _ => new PackAnswer.NotNow(Words(answer)),
                };
        }
        catch (Exception error) when (!cancellationToken.IsCancellationRequested)
        {
            // Out of time with the connection standing, or else its end, which is told a moment after the send has failed.
            if (patience.IsCancellationRequested ? Lost.IsCancellationRequested : await IsLostAsync())
                throw LostAs(error);
            throw new LinkException(
                error is OperationCanceledException or MqttCommunicationTimedOutException ? $"no acknowledgement within {_options.AnswerTimeout.TotalSeconds} s; is the server's disk busy or full?" : Fault(error, _options),
                error);
        }
    }

    /// <summary>The loss of the connection as an error.</summary>
    public LinkException LostAs(Exception? error = null) => new(LostBecause, error) { IsTakenOver = IsTakenOver };

    /// <summary>Whether the connection is lost; the client says so a moment after what was under way has failed.</summary>
    private async Task<bool> IsLostAsync()
    {
        if (!_client.IsConnected || Lost.IsCancellationRequested)
            await Task.Delay(TimeSpan.FromSeconds(1), TimeProvider.System, Lost).ContinueWith(_ => { }, TaskScheduler.Default);
        return Lost.IsCancellationRequested;
    }

    private static byte[] Utf8(string text) => System.Text.Encoding.UTF8.GetBytes(text);

    private static string Words(MqttClientPublishResult answer) => $"{answer.ReasonCode} {answer.ReasonString}".Trim();

    private MqttClientOptions Greeting(Action<string> certificateFault, bool beside)
    {
        var builder = new MqttClientOptionsBuilder()
            .WithProtocolVersion(MqttProtocolVersion.V500)
            .WithTcpServer(_options.BrokerHost, _options.Port)
            .WithTimeout(_options.AnswerTimeout)
            .WithKeepAlivePeriod(_options.KeepAlive);
        builder = beside
            ? builder.WithClientId($"{_gateway}/check").WithCleanStart()
            : builder.WithClientId(_gateway.Value)
                // The outbox sends again by itself; the session is for the settings sent while we are away.
                .WithCleanStart(false)
                .WithSessionExpiryInterval((uint)_options.SessionExpiry.TotalSeconds)
                .WithWillTopic(Topics.Status(_gateway))
                .WithWillPayload(GatewayReport.Offline)
                .WithWillRetain()
                .WithWillQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce);
        if (_options.ReadPassword() is { Length: > 0 } password)
            builder.WithCredentials(_options.User ?? _gateway.Value, password);
        if (_options.Tls)
        {
            var authorities = ServerCertificate.Authorities(_options.AuthorityFile);
            builder.WithTlsOptions(tls => tls
                .UseTls()
                .WithTargetHost(_options.BrokerHost)
                .WithCertificateValidationHandler(seen =>
                {
                    var fault = ServerCertificate.Fault(seen.Certificate, seen.Chain, seen.SslPolicyErrors, authorities, _options.BrokerHost);
                    if (fault is not null)
                        certificateFault(fault);
                    return fault is null;
                }));
        }
        return builder.Build();
    }

    private static string Refusal(MqttClientConnectResult answer, PublishingOptions options, GatewayId gateway) =>
        answer.ResultCode switch
        {
            MqttClientConnectResultCode.BadUserNameOrPassword or MqttClientConnectResultCode.NotAuthorized =>
                $"{options.BrokerHost} does not know user '{options.User ?? gateway.Value}' with this password; enrol again with a new code",
            MqttClientConnectResultCode.UnsupportedProtocolVersion => $"{options.BrokerHost} does not speak MQTT 5; use a broker that does",
            var code => $"{options.BrokerHost} refused the connection: {code} {answer.ReasonString}",
        };

    private static string Fault(Exception error, PublishingOptions options)
    {
        var socket = error.GetBaseException() as SocketException;
        return error switch
        {
            _ when socket is { SocketErrorCode: SocketError.HostNotFound or SocketError.TryAgain or SocketError.NoData } =>
                $"the name {options.BrokerHost} is not found; look at the network and Publishing:BrokerHost",
            _ when socket is { SocketErrorCode: SocketError.ConnectionRefused } =>
                $"nobody listens at {options.BrokerHost}:{options.Port}; is the server running, and is Publishing:BrokerPort right?",
            OperationCanceledException or MqttCommunicationTimedOutException =>
                $"{options.BrokerHost}:{options.Port} did not answer in {options.AnswerTimeout.TotalSeconds} s; look at the network and the server's firewall",
            CryptographicException => $"Publishing:AuthorityFile {options.AuthorityFile} holds no certificate; enrol again",
            _ => $"{options.BrokerHost}:{options.Port}: {error.GetBaseException().Message}",
        };
    }
}

/// <summary>The broker's answer to one message.</summary>
internal abstract record PackAnswer
{
    private PackAnswer()
    {
    }

    /// <summary>Acknowledged: it is the server's now.</summary>
    internal sealed record Taken : PackAnswer;

    /// <summary>These bytes will never be taken.</summary>
    internal sealed record Refused(string Reason) : PackAnswer;

    /// <summary>Some of it is dated too far from the server's clock; the rest is the server's now.</summary>
    internal sealed record OtherClock(string Reason) : PackAnswer;

    /// <summary>Not taken now; later perhaps.</summary>
    internal sealed record NotNow(string Reason) : PackAnswer;
}

/// <summary>The connection to the broker did not come about or broke; the message says where and the remedy.</summary>
internal sealed class LinkException(string message, Exception? inner = null) : Exception(message, inner)
{
    /// <summary>Whether another connection under this gateway's name ended it.</summary>
    public bool IsTakenOver { get; init; }
}
