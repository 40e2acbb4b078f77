using System.Buffers.Text;
using System.Globalization;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Dashboards.People;
using PavementWatch.Server.Access;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.People;

/// <summary>People and links as the business's pages and the operator's commands list and change them.</summary>
internal sealed class PeopleSetup(
    PersonStore people,
    PublicAddress address,
    IDbContextFactory<RegistryDb> registry,
    IServiceScopeFactory scopes,
    [FromKeyedServices(Clocks.People)] TimeProvider time) : IPeopleSetup
{
    /// <summary>Most days an owner's link lasts.</summary>
    public const int MostOwnerDays = 365;

    public async Task<IReadOnlyList<PersonListed>> AllAsync(CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.People.AsNoTracking().OrderBy(p => p.UserName).Select(p => new PersonListed(
            p.Id, p.UserName!, p.Role,
            db.Set<SessionRow>().Count(s => s.PersonId == p.Id),
            db.Set<SignInLinkRow>().Count(l => l.PersonId == p.Id && l.UsedAt == null && l.RevokedAt == null && l.ExpiresAt > now),
            db.Set<SessionRow>().Where(s => s.PersonId == p.Id).Max(s => (DateTimeOffset?)s.SeenAt))).ToListAsync(cancellationToken);
    }

    public async Task<PersonInFull?> FindAsync(int personId, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (await db.People.AsNoTracking().SingleOrDefaultAsync(p => p.Id == personId, cancellationToken) is not { } person)
            return null;
        var links = await db.SignInLinks.AsNoTracking()
            .Where(l => l.PersonId == personId && l.RevokedAt == null && (l.UsedAt != null || l.ExpiresAt > now))
            .OrderByDescending(l => l.Id).Select(l => new LinkListed(l.Id, l.CreatedAt, l.ExpiresAt, l.UsedAt)).ToListAsync(cancellationToken);
        var sessions = await db.Sessions.AsNoTracking().Where(s => s.PersonId == personId).OrderByDescending(s => s.SeenAt)
            .Select(s => new SessionListed(s.Id, s.Device, s.CreatedAt, s.SeenAt, s.EnteredBy)).ToListAsync(cancellationToken);
        await using var scope = scopes.CreateAsyncScope();
        var passkeys = await scope.ServiceProvider.GetRequiredService<UserManager<PersonRow>>().GetPasskeysAsync(person);
        return new PersonInFull(
            person.Id, person.Name, person.Role, links, sessions,
            [.. passkeys.Select(k => new PasskeyListed(Base64Url.EncodeToString(k.CredentialId), k.Name ?? "unknown device", k.CreatedAt))])
        {
            Unit = person.Unit,
        };
    }

    public async Task<bool> HasPasskeyAsync(int personId, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.Set<IdentityUserPasskey<int>>().AnyAsync(k => k.UserId == personId, cancellationToken);
    }

    public async Task<OwnersListed> OwnersAsync(CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var links = await db.OwnerLinks.Where(l => l.RevokedAt == null && l.ExpiresAt > now).OrderByDescending(l => l.Id)
            .Join(db.Dogs, l => l.DogId, d => d.Id, (l, d) => new OwnerLinkListed(l.Id, d.Name, l.CreatedAt, l.ExpiresAt)).ToListAsync(cancellationToken);
        return new OwnersListed(links, await db.Dogs.OrderBy(d => d.Name).Select(d => new DogListed(d.Id, d.Name)).ToListAsync(cancellationToken));
    }

    public async Task<(string? Link, string? Fault)> AddAsync(string name, Role role, CancellationToken cancellationToken)
    {
        if (Core.Names.NameRule.Fault("name", name) is { } fault)
            return (null, fault);
        if (await people.FindAsync(name) is not null)
            return (null, $"there is somebody named {name} already; choose another name");
        var person = await people.AddAsync(name, role, cancellationToken);
        return (await NewLinkAsync(person.Id, cancellationToken), null);
    }

    public async Task<string> NewLinkAsync(int personId, CancellationToken cancellationToken) =>
        $"{address.Text}/enter/{await people.NewSignInTokenAsync(personId, cancellationToken)}";

    public Task<string?> RenameAsync(int personId, string name, CancellationToken cancellationToken) => people.RenameAsync(personId, name, cancellationToken);

    public Task<string?> SetRoleAsync(int personId, Role role, CancellationToken cancellationToken) => people.SetRoleAsync(personId, role, cancellationToken);

    public async Task<string?> SetUnitAsync(int personId, TemperatureUnit unit, CancellationToken cancellationToken)
    {
        await people.SetUnitAsync(personId, unit, cancellationToken);
        return null;
    }

    public Task<string?> RemoveAsync(int personId, CancellationToken cancellationToken) => people.RemoveAsync(personId, cancellationToken);

    public async Task<string?> RevokeLinkAsync(int personId, int linkId, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.SignInLinks.AnyAsync(l => l.Id == linkId && l.PersonId == personId, cancellationToken)
            && await people.RevokeLinkAsync(linkId, cancellationToken)
            ? null
            : "there is no such link, or it is revoked already";
    }

    public async Task<string?> EndSessionAsync(int personId, Guid session, CancellationToken cancellationToken) =>
        await people.EndSessionAsync(personId, session, cancellationToken) ? null : "there is no such session, or it has ended already";

    public Task<Ended> EndSessionsAsync(int personId, Guid? but, CancellationToken cancellationToken) => people.EndSessionsAsync(personId, but, cancellationToken);

    public Task<Ended> EndAllAsync(int personId, Guid? but, CancellationToken cancellationToken) => people.EndAllAsync(personId, but, cancellationToken);

    public async Task<string?> RemovePasskeyAsync(int personId, string passkey, CancellationToken cancellationToken)
    {
        await using var scope = scopes.CreateAsyncScope();
        var users = scope.ServiceProvider.GetRequiredService<UserManager<PersonRow>>();
        if (await users.FindByIdAsync(personId.ToString(CultureInfo.InvariantCulture)) is not { } person
            || !Base64Url.IsValid(passkey)
            || (await users.GetPasskeysAsync(person)).All(k => Base64Url.EncodeToString(k.CredentialId) != passkey))
            return "there is no such passkey, or it is removed already";
        var removed = await users.RemovePasskeyAsync(person, Base64Url.DecodeFromChars(passkey));
        return removed.Succeeded ? null : string.Join("; ", removed.Errors.Select(e => e.Description));
    }

    public async Task<(string? Link, string? Fault)> NewOwnerLinkAsync(int dogId, int days, CancellationToken cancellationToken)
    {
        if (days is < 1 or > MostOwnerDays)
            return (null, $"days are {days}, expected 1 to {MostOwnerDays}");
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (!await db.Dogs.AnyAsync(d => d.Id == dogId, cancellationToken))
            return (null, "there is no such dog");
        return ($"{address.Text}/o/{await people.NewOwnerTokenAsync(dogId, TimeSpan.FromDays(days), cancellationToken)}", null);
    }

    public async Task<string?> RevokeOwnerLinkAsync(int linkId, CancellationToken cancellationToken) =>
        await people.RevokeOwnerLinkAsync(linkId, cancellationToken) ? null : "there is no such link, or it is revoked already";
}
