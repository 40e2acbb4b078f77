using System.Collections.Concurrent;
using System.Net;
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
internal sealed class BrokerAccess(SignInPolicy signIn, RefusalLog refusals, IngestMetrics metrics, ILogger<BrokerAccess> logger)
{
    private const string GatewayKey = "gateway";
    private const string TurnKey = "turn";

    // Goes up when what a gateway may do has changed; who signed in before that has to sign in again.
    private readonly ConcurrentDictionary<GatewayId, int> _turns = new();

    /// <summary>Decides on a connection; notes on its session which gateway it is.</summary>
    public async Task ConnectAsync(ValidatingConnectionEventArgs connection)
    {
        var address = (connection.RemoteEndPoint as IPEndPoint)?.Address ?? IPAddress.None;
        var remote = address.ToString();
        if (connection.ProtocolVersion != MqttProtocolVersion.V500)
        {
            // Older versions cannot be told that a pack was refused.
            Turn(MqttConnectReasonCode.UnsupportedProtocolVersion, BrokerReason.WrongProtocol, "found an older MQTT, expected MQTT 5");
            return;
        }

        // Looked up first: a change while the password is looked at counts against it.
        var turn = GatewayId.TryParse(connection.UserName, out var gateway) ? TurnOf(gateway) : 0;
        if (!await MaySignInAsync(connection, address, remote))
            return;
        if (gateway == default
            || !IsOwn(connection.ClientId ?? "", gateway))
        {
            Turn(
                MqttConnectReasonCode.ClientIdentifierNotValid, BrokerReason.WrongClientId,
                "the client identifier is neither the user name nor begins with it and a slash; use the gateway's name");
            return;
        }

        connection.SessionItems[GatewayKey] = gateway;
        connection.SessionItems[TurnKey] = turn;
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

    /// <summary>Whether a session's sign-in counts still.</summary>
    public bool IsCurrent(System.Collections.IDictionary session) => session[TurnKey] is int turn && turn == TurnOf(GatewayOf(session));

    /// <summary>Ends what a gateway's sign-ins up to now are good for.</summary>
    public void EndTurn(GatewayId gateway) => _turns.AddOrUpdate(gateway, 1, (_, turn) => turn + 1);

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
        if (refusals.IsNews(who, reason))
            Log.TurnedAway(logger, who, reason, detail);
    }

    /// <summary>Logs that a connection broke.</summary>
    public void Ended(string remote, string detail)
    {
        if (refusals.IsNews(remote, "connection-ended"))
            Log.ConnectionFailed(logger, remote, detail);
    }

    private int TurnOf(GatewayId gateway) => _turns.GetValueOrDefault(gateway);

    private async Task<bool> MaySignInAsync(ValidatingConnectionEventArgs connection, IPAddress address, string remote)
    {
        try
        {
            switch (await signIn.JudgeAsync(address, connection.UserName ?? "", connection.Password ?? "", connection.CancellationToken))
            {
                case SignInOutcome.Good:
                    return true;
                case SignInOutcome.TooMany:
                    (connection.ReasonCode, connection.ReasonString) = (MqttConnectReasonCode.ConnectionRateExceeded, "too many wrong passwords; try again later");
                    TurnAway(
                        BrokerReason.TooManyWrongPasswords, remote,
                        $"user '{Short(connection.UserName ?? "")}' was not looked at, after too many wrong passwords; wait up to {SignInPolicy.LongestWait.TotalMinutes:0} minutes, and look for a gateway with an old password");
                    return false;
            }

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
