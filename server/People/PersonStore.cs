using System.Security.Claims;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Names;
using PavementWatch.Dashboards.People;
using PavementWatch.Server.Access;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Positions;

namespace PavementWatch.Server.People;

/// <summary>The people who sign in, their links and sessions, and the links of owners. Whatever is taken ends cookies and live streams at once.</summary>
internal sealed class PersonStore(
    IDbContextFactory<RegistryDb> registry,
    IServiceScopeFactory scopes,
    Sessions sessions,
    LiveStreams streams,
    SharedPositions positions,
    IOptions<AccessOptions> options,
    [FromKeyedServices(Clocks.People)] TimeProvider time) : IDisposable
{
    private const string LastOfBusiness = "is the last person of the business; give somebody else that role first";

    private readonly SemaphoreSlim _one = new(1);

    /// <summary>Adds somebody; a person of that name is left as they are, but takes the role.</summary>
    /// <exception cref="ArgumentException">The name breaks <see cref="NameRule"/>; the message says how.</exception>
    public async Task<PersonRow> AddAsync(string name, Role role, CancellationToken cancellationToken)
    {
        if (NameRule.Fault("name", name) is { } fault)
            throw new ArgumentException(fault, nameof(name));
        var person = await AsUserAsync(async users =>
        {
            if (await users.FindByNameAsync(name) is { } known)
                return known;
            var added = new PersonRow { Name = name, Role = role, CreatedAt = time.GetUtcNow() };
            Demand(await users.CreateAsync(added));
            return added;
        });
        return person.Role == role ? person : await ChangeAsync(person.Id, p => p.Role = role, endsSignIns: true, cancellationToken);
    }

    /// <summary>The person of that name, as it is written.</summary>
    public Task<PersonRow?> FindAsync(string name) => AsUserAsync(users => users.FindByNameAsync(name));

    /// <summary>Gives somebody another role; their sign-ins end.</summary>
    /// <returns><c>null</c>, or why not.</returns>
    public async Task<string?> SetRoleAsync(int personId, Role role, CancellationToken cancellationToken)
    {
        if (role != Role.Business && await IsLastOfBusinessAsync(personId, cancellationToken) is { } last)
            return last;
        await ChangeAsync(personId, p => p.Role = role, endsSignIns: true, cancellationToken);
        return null;
    }

    /// <summary>Gives somebody another name.</summary>
    /// <returns><c>null</c>, or why not.</returns>
    public async Task<string?> RenameAsync(int personId, string name, CancellationToken cancellationToken)
    {
        if (NameRule.Fault("name", name) is { } fault)
            return fault;
        if (await FindAsync(name) is { } other && other.Id != personId)
            return $"there is somebody named {name} already; choose another name";
        await ChangeAsync(personId, p => p.Name = name, endsSignIns: false, cancellationToken);
        return null;
    }

    /// <summary>Keeps in which unit somebody reads temperatures; pages, live streams and messages follow.</summary>
    public async Task SetUnitAsync(int personId, TemperatureUnit unit, CancellationToken cancellationToken)
    {
        await ChangeAsync(personId, p => p.Unit = unit, endsSignIns: false, cancellationToken);
        await streams.EnforceAsync(cancellationToken);
    }

    /// <summary>Removes somebody with their links, sessions, passkeys and devices. Walks, checks and decisions stay.</summary>
    /// <returns><c>null</c>, or why not.</returns>
    public async Task<string?> RemoveAsync(int personId, CancellationToken cancellationToken)
    {
        if (await IsLastOfBusinessAsync(personId, cancellationToken) is { } last)
            return last;
        await AsUserAsync(async users =>
        {
            if (await users.FindByIdAsync(Key(personId)) is { } person)
                Demand(await users.DeleteAsync(person));
            return true;
        });
        await ForgetAsync(personId, cancellationToken);
        return null;
    }

    /// <summary>Ends what somebody had open who is no more: shared position, live streams.</summary>
    public async Task ForgetAsync(int personId, CancellationToken cancellationToken)
    {
        positions.Forget(personId);
        await streams.EnforceAsync(cancellationToken);
    }

    /// <summary>A new sign-in link's token; it is not kept, only its hash.</summary>
    public Task<string> NewSignInTokenAsync(int personId, CancellationToken cancellationToken) => AsUserAsync(async users =>
    {
        cancellationToken.ThrowIfCancellationRequested();
        var person = await users.FindByIdAsync(Key(personId)) ?? throw new InvalidOperationException("whoever the link is for is no more");
        return await users.GenerateUserTokenAsync(person, LinkTokenProvider.Name, LinkTokenProvider.SignIn);
    });

    /// <summary>Whom a sign-in link would sign in; <c>null</c> when it is unknown, used, expired or revoked. Uses nothing up.</summary>
    public async Task<PersonRow?> WhoseAsync(string token, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await LinkTokenProvider.Good(db, LinkToken.Hash(token), time.GetUtcNow())
            .Join(db.People, l => l.PersonId, p => p.Id, (l, p) => p)
            .AsNoTracking().SingleOrDefaultAsync(cancellationToken);
    }

    /// <summary>When a sign-in link was used; <c>null</c> when it was not, or is unknown. What ended long ago is forgotten.</summary>
    public async Task<DateTimeOffset?> UsedAtAsync(string token, CancellationToken cancellationToken)
    {
        var hash = LinkToken.Hash(token);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.SignInLinks.Where(l => l.TokenHash == hash).Select(l => l.UsedAt).SingleOrDefaultAsync(cancellationToken);
    }

    /// <summary>Signs in by a link and uses it up.</summary>
    /// <returns>What the cookie says; <c>null</c> when the link is unknown, used, expired or revoked.</returns>
    public async Task<ClaimsPrincipal?> EnterAsync(string token, string device, CancellationToken cancellationToken)
    {
        if (await WhoseAsync(token, cancellationToken) is not { } person
            || !await AsUserAsync(users => users.VerifyUserTokenAsync(person, LinkTokenProvider.Name, LinkTokenProvider.SignIn, token)))
            return null;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var hash = LinkToken.Hash(token);
        var link = await db.SignInLinks.Where(l => l.TokenHash == hash).Select(l => l.Id).SingleAsync(cancellationToken);
        return await sessions.BeginAsync(person, device, ByLink(link), cancellationToken);
    }

    /// <summary>Revokes a sign-in link; who came in by it is out, with what was begun, kept and registered for its person since.</summary>
    /// <returns>Whether there was one that could still be revoked.</returns>
    public async Task<bool> RevokeLinkAsync(int linkId, CancellationToken cancellationToken)
    {
        DateTimeOffset? now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var revoked = await db.SignInLinks.Where(l => l.Id == linkId && l.RevokedAt == null)
            .ExecuteUpdateAsync(l => l.SetProperty(x => x.RevokedAt, now), cancellationToken);
        var by = ByLink(linkId);
        await db.Sessions.Where(s => s.EnteredBy == by).ExecuteDeleteAsync(cancellationToken);
        if (await db.SignInLinks.AsNoTracking().SingleOrDefaultAsync(l => l.Id == linkId && l.UsedAt != null, cancellationToken) is { } used)
            await TakeBackSinceAsync(db, used.PersonId, used.UsedAt!.Value, cancellationToken);
        await streams.EnforceAsync(cancellationToken);
        return revoked > 0;
    }

    // Whoever came in may have left themselves a way back: a passkey, a session begun with it, a device that is told where the person walks.
    private static async Task TakeBackSinceAsync(RegistryDb db, int personId, DateTimeOffset since, CancellationToken cancellationToken)
    {
        await db.Sessions.Where(s => s.PersonId == personId && s.CreatedAt >= since).ExecuteDeleteAsync(cancellationToken);
        await db.PushSubscriptions.Where(s => s.PersonId == personId && s.CreatedAt >= since).ExecuteDeleteAsync(cancellationToken);
        var passkeys = await db.Set<IdentityUserPasskey<int>>().Where(p => p.UserId == personId).ToListAsync(cancellationToken);
        db.RemoveRange(passkeys.Where(p => p.Data.CreatedAt >= since - TimeSpan.FromMinutes(1)));
        await db.SaveChangesAsync(cancellationToken);
    }

    /// <summary>Ends one session of a person.</summary>
    /// <returns>Whether there was one.</returns>
    public Task<bool> EndSessionAsync(int personId, Guid session, CancellationToken cancellationToken) =>
        EndAsync(s => s.PersonId == personId && s.Id == session, cancellationToken);

    /// <summary>Signs a person out everywhere but in one browser: sessions, live streams, shared positions and the devices that get alerts. Passkeys and links that wait still sign in.</summary>
    /// <remarks>A device does not say by which session it came. One that is kept shows itself again when it opens the spots.</remarks>
    public async Task<Ended> EndSessionsAsync(int personId, Guid? but, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        var ended = await EndSessionsAsync(db, personId, but, cancellationToken);
        await together.CommitAsync(cancellationToken);
        await AfterEndAsync(personId, cancellationToken);
        return ended;
    }

    /// <summary>Takes away all that lets anybody in as this person, for a phone that is lost: sessions, devices, links and passkeys, in one step.</summary>
    /// <param name="personId">Whose.</param>
    /// <param name="but">The browser in which this is asked for, if it is theirs; it stays signed in.</param>
    /// <param name="cancellationToken">Gives up.</param>
    public async Task<Ended> EndAllAsync(int personId, Guid? but, CancellationToken cancellationToken)
    {
        DateTimeOffset? now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        // What lets somebody begin a session goes before the sessions.
        var links = await db.SignInLinks.Where(l => l.PersonId == personId && l.RevokedAt == null && l.UsedAt == null && l.ExpiresAt > now)
            .ExecuteUpdateAsync(l => l.SetProperty(x => x.RevokedAt, now), cancellationToken);
        var passkeys = await db.Set<IdentityUserPasskey<int>>().Where(k => k.UserId == personId).ExecuteDeleteAsync(cancellationToken);
        var ended = await EndSessionsAsync(db, personId, but, cancellationToken);
        await together.CommitAsync(cancellationToken);
        await AfterEndAsync(personId, cancellationToken);
        return ended with { Links = links, Passkeys = passkeys };
    }

    private static async Task<Ended> EndSessionsAsync(RegistryDb db, int personId, Guid? but, CancellationToken cancellationToken)
    {
        var sessions = await db.Sessions.Where(s => s.PersonId == personId && s.Id != but).ExecuteDeleteAsync(cancellationToken);
        return new Ended(sessions, await db.PushSubscriptions.Where(d => d.PersonId == personId).ExecuteDeleteAsync(cancellationToken));
    }

    private async Task AfterEndAsync(int personId, CancellationToken cancellationToken)
    {
        positions.Forget(personId);
        await streams.EnforceAsync(cancellationToken);
    }

    /// <summary>A new owner's link's token; it is not kept, only its hash.</summary>
    public async Task<string> NewOwnerTokenAsync(int dogId, TimeSpan life, CancellationToken cancellationToken)
    {
        var token = LinkToken.New();
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        db.OwnerLinks.Add(new OwnerLinkRow
        {
            DogId = dogId,
            TokenHash = LinkToken.Hash(token),
            CreatedAt = now,
            ExpiresAt = now + life,
        });
        await db.SaveChangesAsync(cancellationToken);
        return token;
    }

    /// <summary>Revokes an owner's link.</summary>
    /// <returns>Whether there was one that could still be revoked.</returns>
    public async Task<bool> RevokeOwnerLinkAsync(int linkId, CancellationToken cancellationToken)
    {
        DateTimeOffset? now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.OwnerLinks.Where(l => l.Id == linkId && l.RevokedAt == null)
            .ExecuteUpdateAsync(l => l.SetProperty(x => x.RevokedAt, now), cancellationToken) > 0;
    }

    /// <summary>Whether anybody of the business is there.</summary>
    public async Task<bool> HasBusinessAsync(CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.People.AnyAsync(p => p.Role == Role.Business, cancellationToken);
    }

    /// <summary>Adds the first person of the business, unless there is one by now.</summary>
    public async Task<PersonRow?> AddFirstAsync(string name, CancellationToken cancellationToken)
    {
        await _one.WaitAsync(cancellationToken);
        try
        {
            return await HasBusinessAsync(cancellationToken) ? null : await AddAsync(name, Role.Business, cancellationToken);
        }
        finally
        {
            _one.Release();
        }
    }

    public void Dispose() => _one.Dispose();

    /// <summary>How long a sign-in link waits to be used.</summary>
    public TimeSpan LinkLife => options.Value.SignInLinkLife;

    private static string ByLink(int link) => string.Create(System.Globalization.CultureInfo.InvariantCulture, $"link {link}");

    private static string Key(int personId) => personId.ToString(System.Globalization.CultureInfo.InvariantCulture);

    private async Task<bool> EndAsync(System.Linq.Expressions.Expression<Func<SessionRow, bool>> which, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var ended = await db.Sessions.Where(which).ExecuteDeleteAsync(cancellationToken);
        await streams.EnforceAsync(cancellationToken);
        return ended > 0;
    }

    /// <summary>Why somebody cannot go, where nobody of the business would be left; else <c>null</c>.</summary>
    public async Task<string?> IsLastOfBusinessAsync(int personId, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var business = await db.People.Where(p => p.Role == Role.Business).OrderBy(p => p.Id).Select(p => new { p.Id, p.UserName }).Take(2).ToListAsync(cancellationToken);
        return business is [var only] && only.Id == personId ? $"{only.UserName} {LastOfBusiness}" : null;
    }

    private async Task<PersonRow> ChangeAsync(int personId, Action<PersonRow> change, bool endsSignIns, CancellationToken cancellationToken)
    {
        var changed = await AsUserAsync(async users =>
        {
            var person = await users.FindByIdAsync(Key(personId)) ?? throw new InvalidOperationException("whoever was to be changed is no more");
            change(person);
            Demand(endsSignIns ? await users.UpdateSecurityStampAsync(person) : await users.UpdateAsync(person));
            return person;
        });
        if (endsSignIns)
        {
            await using var db = await registry.CreateDbContextAsync(cancellationToken);
            await db.Sessions.Where(s => s.PersonId == personId).ExecuteDeleteAsync(cancellationToken);
            await streams.EnforceAsync(cancellationToken);
        }

        return changed;
    }

    private async Task<T> AsUserAsync<T>(Func<UserManager<PersonRow>, Task<T>> act)
    {
        await using var scope = scopes.CreateAsyncScope();
        return await act(scope.ServiceProvider.GetRequiredService<UserManager<PersonRow>>());
    }

    private static void Demand(IdentityResult result)
    {
        if (!result.Succeeded)
            throw new InvalidOperationException(string.Join("; ", result.Errors.Select(e => e.Description)));
    }
}
