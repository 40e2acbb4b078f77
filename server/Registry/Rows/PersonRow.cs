namespace PavementWatch.Server.Registry.Rows;

/// <summary>What a person may do. Owners of dogs are no persons here: they hold a link (<see cref="OwnerLinkRow"/>).</summary>
internal enum Role
{
    /// <summary>Sees the spots and gets their alerts.</summary>
    Walker = 0,

    /// <summary>Also checks fits and enters spot checks.</summary>
    Analyst,

    /// <summary>Also changes spots, gateways, people.</summary>
    Business,
}

/// <summary>Somebody who signs in.</summary>
internal sealed class PersonRow
{
    public int Id { get; init; }

    public required string Name { get; set; }

    public required Role Role { get; set; }

    public required DateTimeOffset CreatedAt { get; init; }
}

/// <summary>A link that signs its person in until it expires or is revoked. Only the hash of its token is kept.</summary>
internal sealed class SignInLinkRow
{
    public int Id { get; init; }

    public required int PersonId { get; init; }

    public required string TokenHash { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }

    public required DateTimeOffset ExpiresAt { get; init; }

    public DateTimeOffset? RevokedAt { get; set; }
}

/// <summary>The private, read-only link of a dog's owner. Only the hash of its token is kept.</summary>
internal sealed class OwnerLinkRow
{
    public int Id { get; init; }

    public required int DogId { get; init; }

    public required string TokenHash { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }

    public required DateTimeOffset ExpiresAt { get; init; }

    public DateTimeOffset? RevokedAt { get; set; }
}
