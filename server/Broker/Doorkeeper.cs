using MQTTnet.Formatter;
using MQTTnet.Protocol;
using MQTTnet.Server;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Broker;

/// <summary>Who may connect, publish and subscribe at the embedded broker. Everyone turned away is counted and logged.</summary>
/// <remarks>
/// The client identifier must be the gateway's name, or begin with it and a slash: another's identifier would end the
/// other's connection and take over its session.
/// </remarks>
internal sealed class Doorkeeper(IGatewayDirectory directory, IngestMetrics metrics, ILogger<Doorkeeper> logger)
{
    private const string GatewayKey = "gateway";

    /// <summary>Decides on a connection; notes on its session which gateway it is.</summary>
    public async Task ConnectAsync(ValidatingConnectionEventArgs connection)
    {
        var remote = connection.RemoteEndPoint?.ToString() ?? "?";
        if (connection.ProtocolVersion != MqttProtocolVersion.V500)
        {
            // Older versions cannot be told that a pack was refused.
            Turn(MqttConnectReasonCode.UnsupportedProtocolVersion, BrokerReason.WrongProtocol, "found an older MQTT, expected MQTT 5");
            return;
        }

        if (!await MaySignInAsync(connection, remote))
            return;
        if (!GatewayId.TryParse(connection.UserName, out var gateway)
            || !IsOwn(connection.ClientId ?? "", gateway))
        {
            Turn(
                MqttConnectReasonCode.ClientIdentifierNotValid, BrokerReason.WrongClientId,
                "the client identifier is neither the user name nor begins with it and a slash; use the gateway's name");
            return;
        }

        connection.SessionItems[GatewayKey] = gateway;
        connection.ReasonCode = MqttConnectReasonCode.Success;

        void Turn(MqttConnectReasonCode code, string reason, string detail)
        {
            (connection.ReasonCode, connection.ReasonString) = (code, detail);
            TurnAway(reason, remote, detail);
        }
    }

    /// <summary>The gateway of a session that this doorkeeper let in.</summary>
    public static GatewayId GatewayOf(System.Collections.IDictionary session) =>
        session[GatewayKey] is GatewayId gateway ? gateway : default;

    /// <summary>Whether a gateway may publish on a topic, and what that carries.</summary>
    public TopicKind MayPublish(GatewayId gateway, string topic)
    {
        if (Topics.TryParse(topic, out var owner, out var kind)
            && owner == gateway && kind is TopicKind.Readings or TopicKind.Status)
        {
            return kind;
        }

        TurnAway(
            BrokerReason.ForeignTopic, gateway.Value,
            $"published on '{Short(topic)}', expected {Topics.Readings(gateway)} or {Topics.Status(gateway)}; look at the gateway's name in its settings");
        return TopicKind.Unknown;
    }

    /// <summary>Decides on a subscription: a gateway reads its own settings only.</summary>
    public Task SubscribeAsync(InterceptingSubscriptionEventArgs subscription)
    {
        var gateway = GatewayOf(subscription.Session.Items);
        if (gateway != default && subscription.TopicFilter.Topic == Topics.Settings(gateway))
            return Task.CompletedTask;
        subscription.ProcessSubscription = false;
        subscription.Response.ReasonCode = MqttSubscribeReasonCode.NotAuthorized;
        subscription.ReasonString = "a gateway reads its own settings only";
        TurnAway(
            BrokerReason.ForeignSubscription, gateway.Value,
            $"subscribed to '{Short(subscription.TopicFilter.Topic)}', expected its own settings only");
        return Task.CompletedTask;
    }

    /// <summary>Counts and logs.</summary>
    public void TurnAway(string reason, string who, string detail)
    {
        metrics.Refused(reason);
        Log.TurnedAway(logger, who, reason, detail);
    }

    private async Task<bool> MaySignInAsync(ValidatingConnectionEventArgs connection, string remote)
    {
        try
        {
            if (await directory.MaySignInAsync(connection.UserName ?? "", connection.Password ?? "", connection.CancellationToken))
                return true;
            connection.ReasonCode = MqttConnectReasonCode.BadUserNameOrPassword;
            TurnAway(
                BrokerReason.WrongPassword, remote,
                $"user '{Short(connection.UserName ?? "")}' is not known or the password is wrong; enrol the gateway again");
        }
        catch (Exception failure) when (failure is System.Data.Common.DbException or IOException)
        {
            connection.ReasonCode = MqttConnectReasonCode.ServerUnavailable;
            TurnAway(BrokerReason.RegistryFailed, remote, failure.Message);
        }

        return false;
    }

    private static bool IsOwn(string clientId, GatewayId gateway) =>
        clientId == gateway.Value || clientId.StartsWith(gateway.Value + "/", StringComparison.Ordinal);

    private static string Short(string text) =>
        string.Concat(text.Take(80).Select(c => char.IsControl(c) || char.IsSurrogate(c) ? '?' : c));
}
