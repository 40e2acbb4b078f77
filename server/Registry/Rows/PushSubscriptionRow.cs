namespace PavementWatch.Server.Registry.Rows;

/// <summary>This spot's alerts are wanted on this device.</summary>
internal sealed class FollowRow
{
    public int SubscriptionId { get; init; }

    public required string SpotId { get; init; }
}

/// <summary>One device's push subscription (RFC 8030 endpoint, RFC 8291 keys).</summary>
internal sealed class PushSubscriptionRow
{
    public int Id { get; init; }

    public required int PersonId { get; set; }

    public required string Endpoint { get; init; }

    /// <summary>The device's public key, base64url.</summary>
    public required string P256dh { get; set; }

    /// <summary>The device's authentication secret, base64url.</summary>
    public required string Auth { get; set; }

    public required DateTimeOffset CreatedAt { get; init; }

    public List<FollowRow> Follows { get; init; } = [];

    /// <summary>How often in a row the push service answered 403; some answer so for a dead subscription.</summary>
    public int ForbiddenInARow { get; set; }
}

/// <summary>The server's key pair towards push services (RFC 8292); made once, then kept.</summary>
internal sealed class VapidKeysRow
{
    public int Id { get; init; }

    public required string PublicKey { get; init; }

    public required string PrivateKey { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }
}
