using System.Buffers;
using System.Collections.Concurrent;
using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography.X509Certificates;
using MQTTnet;
using MQTTnet.Packets;
using MQTTnet.Protocol;
using MQTTnet.Server;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>A real broker on a free loopback port, which can be stopped, started again, and made to refuse.</summary>
internal sealed class TestBroker : IAsyncDisposable
{
    private readonly ConcurrentQueue<Arrival> _arrivals = new();
    private readonly SemaphoreSlim _arrived = new(0);
    private readonly X509Certificate2? _certificate;
    private MqttServer? _server;

    private TestBroker(X509Certificate2? certificate) => _certificate = certificate;

    /// <summary>One message as it came in.</summary>
    internal sealed record Arrival(string Client, string Topic, byte[] Payload, bool Retain, string? Boot, string? Sequence, MqttQualityOfServiceLevel Quality);

    public int Port { get; private set; }

    /// <summary>User and password it lets in; anybody when <c>null</c>.</summary>
    public (string User, string Password)? Login { get; set; }

    /// <summary>What it answers to a message; taken unless set.</summary>
    public Func<Arrival, MqttPubAckReasonCode> Answer { get; set; } = _ => MqttPubAckReasonCode.Success;

    /// <summary>Awaited before a message is acknowledged.</summary>
    public Func<Arrival, Task> BeforeAnswer { get; set; } = _ => Task.CompletedTask;

    /// <summary>Greetings it saw.</summary>
    public ConcurrentQueue<(string ClientId, bool CleanStart, uint SessionExpiry, string? WillTopic)> Greetings { get; } = new();

    public IReadOnlyList<Arrival> Arrivals => [.. _arrivals];

    /// <summary>Readings of all packs in the order they came.</summary>
    public IReadOnlyList<Reading> Readings =>
        [.. _arrivals.Where(arrival => arrival.Topic.EndsWith("/readings", StringComparison.Ordinal))
            .SelectMany(arrival => Assert.IsType<ReadingPackOutcome.Parsed>(ReadingPack.Read(arrival.Payload, Some.Noon.AddDays(60))).Readings)];

    public static async Task<TestBroker> StartAsync(X509Certificate2? certificate = null)
    {
        var broker = new TestBroker(certificate) { Port = FreePort() };
        await broker.StartAgainAsync();
        return broker;
    }

    public async Task StartAgainAsync()
    {
        var options = new MqttServerOptionsBuilder();
        if (_certificate is null)
        {
            options.WithDefaultEndpoint().WithDefaultEndpointPort(Port).WithDefaultEndpointBoundIPAddress(IPAddress.Loopback);
        }
        else
        {
            options.WithoutDefaultEndpoint().WithEncryptedEndpoint().WithEncryptedEndpointPort(Port)
                .WithEncryptedEndpointBoundIPAddress(IPAddress.Loopback).WithEncryptionCertificate(_certificate);
        }
        _server = new MqttServerFactory().CreateMqttServer(options.WithPersistentSessions().Build());
        _server.ValidatingConnectionAsync += greeting =>
        {
            Greetings.Enqueue((greeting.ClientId, greeting.CleanSession ?? true, greeting.SessionExpiryInterval, null));
            if (Login is { } login && (greeting.UserName, greeting.Password) != login)
                greeting.ReasonCode = MqttConnectReasonCode.BadUserNameOrPassword;
            return Task.CompletedTask;
        };
        _server.InterceptingPublishAsync += async publish =>
        {
            var message = publish.ApplicationMessage;
            var arrival = new Arrival(
                publish.ClientId, message.Topic, message.Payload.ToArray(), message.Retain,
                Property(message.UserProperties, "boot"), Property(message.UserProperties, "seq"), message.QualityOfServiceLevel);
            await BeforeAnswer(arrival);
            var answer = Answer(arrival);
            publish.Response.ReasonCode = answer;
            // Packs are the test's; a status is left for whoever asks later.
            publish.ProcessPublish = answer == MqttPubAckReasonCode.Success && publish.ApplicationMessage.Retain;
            if (answer != MqttPubAckReasonCode.Success)
                return;
            _arrivals.Enqueue(arrival);
            _arrived.Release();
        };
        await _server.StartAsync();
    }

    public async Task StopAsync()
    {
        if (_server is null)
            return;
        await _server.StopAsync();
        _server.Dispose();
        _server = null;
    }

    /// <summary>Publishes as the server would.</summary>
    public Task PublishAsync(string topic, byte[] payload)
    {
        var message = new MqttApplicationMessageBuilder().WithTopic(topic).WithPayload(payload).WithRetainFlag()
            .WithQualityOfServiceLevel(MqttQualityOfServiceLevel.AtLeastOnce).Build();
        return _server!.InjectApplicationMessage(new InjectedMqttApplicationMessage(message) { SenderClientId = "server" });
    }

    /// <summary>The retained message of a topic.</summary>
    public async Task<string?> RetainedAsync(string topic) =>
        (await _server!.GetRetainedMessagesAsync()).FirstOrDefault(message => message.Topic == topic) is { } found
            ? System.Text.Encoding.UTF8.GetString(found.Payload.ToArray())
            : null;

    /// <summary>Waits until what arrived is enough.</summary>
    public async Task UntilAsync(Func<TestBroker, bool> enough)
    {
        using var patience = Patience.Token();
        while (!enough(this))
        {
            try
            {
                await _arrived.WaitAsync(patience.Token);
            }
            catch (OperationCanceledException)
            {
                Assert.Fail($"in vain; so far {_arrivals.Count} messages with {Readings.Count} readings came");
            }
        }
    }

    public async ValueTask DisposeAsync()
    {
        await StopAsync();
        _arrived.Dispose();
    }

    public static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    private static string? Property(List<MqttUserProperty>? properties, string name) =>
        properties?.FirstOrDefault(property => property.Name == name)?.ReadValueAsString();
}
