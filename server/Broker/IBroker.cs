using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Broker;

/// <summary>The broker as the rest of the server sees it, whichever it is.</summary>
internal interface IBroker
{
    /// <summary>Whether gateways can reach the server through it now.</summary>
    bool IsUp { get; }

    /// <summary>Port of the embedded broker without TLS, also when a free one was asked for; 0 when there is none.</summary>
    int Port { get; }

    /// <summary>Leaves settings for a gateway, kept until the next; it reads them when it connects.</summary>
    Task PublishSettingsAsync(GatewayId gateway, ReadOnlyMemory<byte> settings, CancellationToken cancellationToken);

    /// <summary>Ends a gateway's connections and its session at once, because what it may do has changed; it may sign in again with what is good now.</summary>
    /// <remarks>At an external broker nothing of the kind can be asked for by a client: each pack is held against the registry as it comes.</remarks>
    Task DisconnectAsync(GatewayId gateway, CancellationToken cancellationToken);

    /// <summary>The same, and clears what is kept for it: the gateway is no more.</summary>
    Task ForgetAsync(GatewayId gateway, CancellationToken cancellationToken);
}
