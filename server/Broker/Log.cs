using System.Net;
using MQTTnet.Server;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Broker;

internal static partial class Log
{
    [LoggerMessage(Level = LogLevel.Information, Message = "broker listens on {Endpoint}, TLS {Encrypted}")]
    public static partial void Listening(ILogger logger, IPEndPoint endpoint, bool encrypted);

    [LoggerMessage(Level = LogLevel.Warning, Message = "a new certificate authority was made in {Folder}; keep a backup: without it every gateway must be enrolled again")]
    public static partial void AuthorityMade(ILogger logger, string folder);

    [LoggerMessage(Level = LogLevel.Information, Message = "certificate for {Host} made, good until {Until}; gateways notice nothing")]
    public static partial void CertificateMade(ILogger logger, string host, DateTimeOffset until);

    [LoggerMessage(Level = LogLevel.Warning, Message = "a connection could not be taken")]
    public static partial void AcceptFailed(ILogger logger, Exception failure);

    [LoggerMessage(Level = LogLevel.Information, Message = "connection of {Remote} ended: {Detail}")]
    public static partial void ConnectionFailed(ILogger logger, string remote, string detail);

    [LoggerMessage(Level = LogLevel.Warning, Message = "{Who} turned away, {Reason}: {Detail}")]
    public static partial void TurnedAway(ILogger logger, string who, string reason, string detail);

    [LoggerMessage(Level = LogLevel.Information, Message = "gateway {Gateway} connected")]
    public static partial void Connected(ILogger logger, GatewayId gateway);

    [LoggerMessage(Level = LogLevel.Information, Message = "gateway {Gateway} disconnected ({Reason})")]
    public static partial void Disconnected(ILogger logger, GatewayId gateway, MqttClientDisconnectType reason);

    [LoggerMessage(Level = LogLevel.Information, Message = "gateway {Gateway}: what it may do has changed; its connections and its session ended")]
    public static partial void RightEnded(ILogger logger, GatewayId gateway);

    [LoggerMessage(Level = LogLevel.Warning, Message = "broker {Host} keeps the passwords and connections of gateways itself; change or remove user '{Gateway}' there. Its readings are held against the registry here")]
    public static partial void NotOursToEnd(ILogger logger, string host, GatewayId gateway);

    [LoggerMessage(Level = LogLevel.Error, Message = "{Path}: retained messages could not be kept; after a restart gateways wait for settings to be sent again")]
    public static partial void RetainedNotKept(ILogger logger, string path, Exception failure);

    [LoggerMessage(Level = LogLevel.Error, Message = "{Path}: not a file of retained messages; set aside as {Aside}, gateways wait for settings to be sent again")]
    public static partial void RetainedDamaged(ILogger logger, string path, string aside, Exception failure);

    [LoggerMessage(Level = LogLevel.Warning, Message = "gateway {Gateway}: status refused: {Detail}")]
    public static partial void StatusRefused(ILogger logger, GatewayId gateway, string detail);

    [LoggerMessage(Level = LogLevel.Error, Message = "gateway {Gateway}: its pack could not be handled; it was told to send it again")]
    public static partial void PackFailed(ILogger logger, GatewayId gateway, Exception failure);

    [LoggerMessage(Level = LogLevel.Warning, Message = "gateway {Gateway}: sends more {What} than it may (Broker:MaxMessagesPerSecond; a status a second) and is answered later; nothing is lost. Look at its log, and whether it is yours")]
    public static partial void Slowed(ILogger logger, GatewayId gateway, string what);

    [LoggerMessage(Level = LogLevel.Information, Message = "connected to broker {Host}:{Port}")]
    public static partial void ExternalConnected(ILogger logger, string host, int port);

    [LoggerMessage(Level = LogLevel.Warning, Message = "no connection to broker {Host}:{Port}: {Detail}; trying again in {RetryPause}")]
    public static partial void ExternalAway(ILogger logger, string host, int port, string detail, TimeSpan retryPause);

    [LoggerMessage(Level = LogLevel.Warning, Message = "message on '{Topic}' is nobody's; look at the subscription and the broker's rules")]
    public static partial void Stray(ILogger logger, string topic);

    [LoggerMessage(Level = LogLevel.Debug, Message = "{Message}")]
    public static partial void Library(ILogger logger, string message, Exception? failure);
}
