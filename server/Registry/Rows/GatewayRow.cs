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

/// <summary>A spot a gateway may report on.</summary>
internal sealed class GatewaySpotRow
{
    public required string GatewayId { get; init; }

    public required string SpotId { get; init; }
}
