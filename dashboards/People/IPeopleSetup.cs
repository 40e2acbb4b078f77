using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.People;

/// <summary>The people who sign in, their links and sessions, and owners' links, as pages list and change them. The server keeps them.</summary>
/// <remarks>What changes something answers <c>null</c>, or what is wrong and what was expected.</remarks>
public interface IPeopleSetup
{
    /// <summary>Everybody, by name.</summary>
    Task<IReadOnlyList<PersonListed>> AllAsync(CancellationToken cancellationToken);

    /// <summary>One person with links, sessions, passkeys; <c>null</c> for none of that number.</summary>
    Task<PersonInFull?> FindAsync(int personId, CancellationToken cancellationToken);

    /// <summary>Whether somebody can come back in without a link.</summary>
    Task<bool> HasPasskeyAsync(int personId, CancellationToken cancellationToken);

    /// <summary>Every owner's link that has not ended, and every dog one can be made for.</summary>
    Task<OwnersListed> OwnersAsync(CancellationToken cancellationToken);

    /// <summary>Adds somebody and makes their first link.</summary>
    Task<(string? Link, string? Fault)> AddAsync(string name, Role role, CancellationToken cancellationToken);

    /// <summary>A new sign-in link for somebody.</summary>
    Task<string> NewLinkAsync(int personId, CancellationToken cancellationToken);

    /// <summary>Gives somebody another name.</summary>
    Task<string?> RenameAsync(int personId, string name, CancellationToken cancellationToken);

    /// <summary>Gives somebody another role; their sign-ins end.</summary>
    Task<string?> SetRoleAsync(int personId, Role role, CancellationToken cancellationToken);

    /// <summary>Keeps in which unit somebody reads temperatures.</summary>
    Task<string?> SetUnitAsync(int personId, TemperatureUnit unit, CancellationToken cancellationToken);

    /// <summary>Removes somebody.</summary>
    Task<string?> RemoveAsync(int personId, CancellationToken cancellationToken);

    /// <summary>Revokes a link of this person, and ends the session it began.</summary>
    Task<string?> RevokeLinkAsync(int personId, int linkId, CancellationToken cancellationToken);

    /// <summary>Ends a session of this person.</summary>
    Task<string?> EndSessionAsync(int personId, Guid session, CancellationToken cancellationToken);

    /// <summary>Signs this person out everywhere but in one browser: sessions, what they show live, and alerts to their phones.</summary>
    Task<Ended> EndSessionsAsync(int personId, Guid? but, CancellationToken cancellationToken);

    /// <summary>Takes away all that lets anybody in as this person but one browser: the same, and links that wait and passkeys.</summary>
    Task<Ended> EndAllAsync(int personId, Guid? but, CancellationToken cancellationToken);

    /// <summary>Removes a passkey of this person.</summary>
    Task<string?> RemovePasskeyAsync(int personId, string passkey, CancellationToken cancellationToken);

    /// <summary>A new link for a dog's owner.</summary>
    Task<(string? Link, string? Fault)> NewOwnerLinkAsync(int dogId, int days, CancellationToken cancellationToken);

    /// <summary>Revokes an owner's link.</summary>
    Task<string?> RevokeOwnerLinkAsync(int linkId, CancellationToken cancellationToken);
}

/// <summary>What was taken from somebody.</summary>
/// <param name="Sessions">Browsers that were signed in.</param>
/// <param name="Devices">Devices that got alerts.</param>
public sealed record Ended(int Sessions, int Devices)
{
    /// <summary>Links that would have signed in.</summary>
    public int Links { get; init; }

    /// <summary>Passkeys.</summary>
    public int Passkeys { get; init; }
}

/// <summary>Somebody in a list.</summary>
/// <param name="Id">Number.</param>
/// <param name="Name">Name.</param>
/// <param name="Role">What they may do.</param>
/// <param name="Sessions">Browsers in which they are signed in.</param>
/// <param name="OpenLinks">Links of theirs that still sign in.</param>
/// <param name="SeenAt">When they were last seen, UTC; <c>null</c> for never, or not since they signed out.</param>
public sealed record PersonListed(int Id, string Name, Role Role, int Sessions, int OpenLinks, DateTimeOffset? SeenAt);

/// <summary>Somebody with all that lets them in.</summary>
/// <param name="Id">Number.</param>
/// <param name="Name">Name.</param>
/// <param name="Role">What they may do.</param>
/// <param name="Links">Links that still sign in or began a session, the newest first.</param>
/// <param name="Sessions">Browsers in which they are signed in, the last seen first.</param>
/// <param name="Passkeys">Their passkeys.</param>
public sealed record PersonInFull(
    int Id, string Name, Role Role, IReadOnlyList<LinkListed> Links, IReadOnlyList<SessionListed> Sessions, IReadOnlyList<PasskeyListed> Passkeys)
{
    /// <summary>In which unit they read temperatures.</summary>
    public TemperatureUnit Unit { get; init; }
}

/// <summary>A sign-in link.</summary>
/// <param name="Id">Number.</param>
/// <param name="CreatedAt">When it was made, UTC.</param>
/// <param name="ExpiresAt">When it ends unused, UTC.</param>
/// <param name="UsedAt">When it signed in, UTC; <c>null</c> while it still may.</param>
public sealed record LinkListed(int Id, DateTimeOffset CreatedAt, DateTimeOffset ExpiresAt, DateTimeOffset? UsedAt);

/// <summary>A browser in which somebody is signed in.</summary>
/// <param name="Id">Its name.</param>
/// <param name="Device">What it says it is.</param>
/// <param name="CreatedAt">Since when, UTC.</param>
/// <param name="SeenAt">When it was last seen, to within the hour, UTC.</param>
/// <param name="EnteredBy">By what it began.</param>
public sealed record SessionListed(Guid Id, string Device, DateTimeOffset CreatedAt, DateTimeOffset SeenAt, string EnteredBy);

/// <summary>A passkey.</summary>
/// <param name="Id">Its name, base64url.</param>
/// <param name="Device">Where it was made.</param>
/// <param name="CreatedAt">When, UTC.</param>
public sealed record PasskeyListed(string Id, string Device, DateTimeOffset CreatedAt);

/// <summary>Owners' links and the dogs.</summary>
/// <param name="Links">Links that have not ended, the newest first.</param>
/// <param name="Dogs">Every dog, by name.</param>
public sealed record OwnersListed(IReadOnlyList<OwnerLinkListed> Links, IReadOnlyList<DogListed> Dogs);

/// <summary>An owner's link.</summary>
/// <param name="Id">Number.</param>
/// <param name="Dog">Whose owner has it.</param>
/// <param name="CreatedAt">When it was made, UTC.</param>
/// <param name="ExpiresAt">When it ends, UTC.</param>
public sealed record OwnerLinkListed(int Id, string Dog, DateTimeOffset CreatedAt, DateTimeOffset ExpiresAt);

/// <summary>A dog to make a link for.</summary>
public sealed record DogListed(int Id, string Name);

/// <summary>A host without a registry has nobody.</summary>
internal sealed class NoPeople : IPeopleSetup
{
    private const string Fault = "nothing can be changed here; this host keeps no people";

    public Task<IReadOnlyList<PersonListed>> AllAsync(CancellationToken cancellationToken) => Task.FromResult<IReadOnlyList<PersonListed>>([]);

    public Task<PersonInFull?> FindAsync(int personId, CancellationToken cancellationToken) => Task.FromResult<PersonInFull?>(null);

    // Nobody is asked to keep one where there is nobody.
    public Task<bool> HasPasskeyAsync(int personId, CancellationToken cancellationToken) => Task.FromResult(true);

    public Task<OwnersListed> OwnersAsync(CancellationToken cancellationToken) => Task.FromResult(new OwnersListed([], []));

    public Task<(string? Link, string? Fault)> AddAsync(string name, Role role, CancellationToken cancellationToken) => Task.FromResult<(string?, string?)>((null, Fault));

    public Task<string> NewLinkAsync(int personId, CancellationToken cancellationToken) => throw new NotSupportedException(Fault);

    public Task<string?> RenameAsync(int personId, string name, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<string?> SetRoleAsync(int personId, Role role, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<string?> SetUnitAsync(int personId, TemperatureUnit unit, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<string?> RemoveAsync(int personId, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<string?> RevokeLinkAsync(int personId, int linkId, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<string?> EndSessionAsync(int personId, Guid session, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<Ended> EndSessionsAsync(int personId, Guid? but, CancellationToken cancellationToken) => Task.FromResult(new Ended(0, 0));

    public Task<Ended> EndAllAsync(int personId, Guid? but, CancellationToken cancellationToken) => Task.FromResult(new Ended(0, 0));

    public Task<string?> RemovePasskeyAsync(int personId, string passkey, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);

    public Task<(string? Link, string? Fault)> NewOwnerLinkAsync(int dogId, int days, CancellationToken cancellationToken) => Task.FromResult<(string?, string?)>((null, Fault));

    public Task<string?> RevokeOwnerLinkAsync(int linkId, CancellationToken cancellationToken) => Task.FromResult<string?>(Fault);
}
