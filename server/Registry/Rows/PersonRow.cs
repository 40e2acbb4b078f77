using Microsoft.AspNetCore.Identity;

namespace PavementWatch.Server.Registry.Rows;

/// <summary>Somebody who signs in: a user of ASP.NET Core Identity, without a password.</summary>
internal sealed class PersonRow : IdentityUser<int>
{
    /// <summary>The name people see; <see cref="IdentityUser{TKey}.UserName"/> in queries.</summary>
    public required string Name
    {
        get => UserName!;
        // Names are told apart as they are written.
        set => UserName = NormalizedUserName = value;
    }

    public required Role Role { get; set; }

    public required DateTimeOffset CreatedAt { get; init; }
}

/// <summary>A link that signs its person in once, until it expires or is revoked. Only the hash of its token is kept.</summary>
internal sealed class SignInLinkRow
{
    public int Id { get; init; }

    public required int PersonId { get; init; }

    public required string TokenHash { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }

    public required DateTimeOffset ExpiresAt { get; init; }

    public DateTimeOffset? RevokedAt { get; set; }

    /// <summary>When it signed its person in; it does so once.</summary>
    public DateTimeOffset? UsedAt { get; set; }
}

/// <summary>One browser in which somebody is signed in. It lasts as long as its row.</summary>
internal sealed class SessionRow
{
    /// <summary>Stands in the cookie, which is encrypted and signed.</summary>
    public Guid Id { get; init; }

    public required int PersonId { get; init; }

    public required DateTimeOffset CreatedAt { get; set; }

    /// <summary>When it was last used, to within the hour.</summary>
    public required DateTimeOffset SeenAt { get; set; }

    /// <summary>What the browser said of itself, in short: "Firefox on Android".</summary>
    public required string Device { get; init; }

    /// <summary>How it began: <c>passkey</c>, <c>set-up link</c>, or <c>link 12</c>, with which it ends.</summary>
    public required string EnteredBy { get; init; }
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
