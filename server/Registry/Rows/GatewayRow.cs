namespace PavementWatch.Server.Registry.Rows;

/// <summary>A gateway and the hash of its secret.</summary>
internal sealed class GatewayRow
{
    public required string Id { get; init; }

    /// <summary>As <see cref="SecretHash"/> writes it.</summary>
    public required string SecretHash { get; set; }

    public required DateTimeOffset CreatedAt { get; init; }

    public List<GatewaySpotRow> Spots { get; init; } = [];
}

/// <summary>A spot a gateway may report on; no two gateways have the same.</summary>
internal sealed class GatewaySpotRow
{
    public required string GatewayId { get; init; }

    public required string SpotId { get; init; }
}

/// <summary>A spot a gateway no longer measures: what it measured there before it may still bring.</summary>
internal sealed class FormerGatewaySpotRow
{
    public required string GatewayId { get; init; }

    public required string SpotId { get; init; }

    /// <summary>When it was taken from the gateway.</summary>
    public required DateTimeOffset Until { get; set; }
}
