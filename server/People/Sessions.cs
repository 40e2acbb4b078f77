using System.Security.Claims;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.People;
using PavementWatch.Server.Access;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.People;

/// <summary>What is to become of a sign-in.</summary>
internal enum SessionStanding
{
    /// <summary>It is over: revoked, or its person, role or link is no more.</summary>
    Ended = 0,

    /// <summary>It was not used for too long, by a clock that is not in doubt; its row stays.</summary>
    Late,

    /// <summary>It holds.</summary>
    Holds,

    /// <summary>It holds, and its cookie is to be written anew.</summary>
    HoldsAnew,
}

/// <summary>The browsers in which people are signed in, as rows: each lasts as long as its row, its person's security stamp and its use.</summary>
internal sealed class Sessions(
    IDbContextFactory<RegistryDb> registry,
    IOptions<AccessOptions> options,
    GatewayClocks clocks,
    [FromKeyedServices(Clocks.People)] TimeProvider time)
{
    /// <summary>Sessions of one person at most; the one unused for longest goes first.</summary>
    public const int MostPerPerson = 20;

    /// <summary>Until then after a start nothing ends by the calendar: gateways say within ten minutes whether the clock is right.</summary>
    public static readonly TimeSpan Settling = TimeSpan.FromMinutes(15);

    private const string StampClaim = "stamp";

    private static readonly TimeSpan SeenEvery = TimeSpan.FromHours(1);

    private readonly long _start = time.GetTimestamp();

    // Asked at each request.
    private readonly Func<RegistryDb, Guid, CancellationToken, Task<Found?>> _one = EF.CompileAsyncQuery(
        (RegistryDb db, Guid id, CancellationToken _) => db.Set<SessionRow>().Where(s => s.Id == id)
            .Join(db.Set<PersonRow>(), s => s.PersonId, p => p.Id, (s, p) => new Found(s.Id, p.Id, p.SecurityStamp ?? "", p.Role, p.Unit, s.SeenAt))
            .FirstOrDefault());

    /// <summary>Signs somebody in.</summary>
    /// <param name="person">Who.</param>
    /// <param name="device">What the browser is, in short.</param>
    /// <param name="enteredBy">By what, see <see cref="SessionRow.EnteredBy"/>.</param>
    /// <param name="cancellationToken">Gives up.</param>
    /// <returns>What the cookie says.</returns>
    public async Task<ClaimsPrincipal> BeginAsync(PersonRow person, string device, string enteredBy, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var surplus = await db.Sessions.Where(s => s.PersonId == person.Id).OrderByDescending(s => s.SeenAt)
            .Skip(MostPerPerson - 1).ToListAsync(cancellationToken);
        db.Sessions.RemoveRange(surplus);
        var session = new SessionRow { Id = Guid.NewGuid(), PersonId = person.Id, CreatedAt = now, SeenAt = now, Device = device, EnteredBy = enteredBy };
        db.Sessions.Add(session);
        await db.SaveChangesAsync(cancellationToken);
        return Visitor.Of(person, new Claim(Account.SessionClaim, session.Id.ToString("N")), new Claim(StampClaim, person.SecurityStamp ?? ""));
    }

    /// <summary>The session of a cookie; <c>null</c> for none, or for a cookie of before there were sessions.</summary>
    public static Guid? IdOf(ClaimsPrincipal principal) => Account.Session(principal);

    /// <summary>Whether a sign-in holds, at the time of each request; and in which unit its bearer reads temperatures by now.</summary>
    public async Task<(SessionStanding Standing, TemperatureUnit Unit)> LookAsync(ClaimsPrincipal principal, CancellationToken cancellationToken)
    {
        if (IdOf(principal) is not { } id)
            return (SessionStanding.Ended, TemperatureUnit.Both);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (await _one(db, id, cancellationToken) is not { } found || !IsOf(principal, found))
            return (SessionStanding.Ended, TemperatureUnit.Both);
        return (await StandingAsync(id, found, cancellationToken), found.Unit);
    }

    private async Task<SessionStanding> StandingAsync(Guid id, Found found, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        if (now - found.SeenAt >= options.Value.SessionLife)
            return MayEndByCalendar ? SessionStanding.Late : SessionStanding.Holds;
        // Seen at a time that is wrong would last or end wrongly later.
        if ((now - found.SeenAt).Duration() < SeenEvery || !MayEndByCalendar)
            return SessionStanding.Holds;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await db.Sessions.Where(s => s.Id == id).ExecuteUpdateAsync(s => s.SetProperty(x => x.SeenAt, now), cancellationToken);
        return SessionStanding.HoldsAnew;
    }

    /// <summary>Of these sign-ins, those that hold, each with the unit in which its bearer reads temperatures by now.</summary>
    public async Task<IReadOnlyDictionary<ClaimsPrincipal, TemperatureUnit>> HoldingAsync(IReadOnlyCollection<ClaimsPrincipal> principals, CancellationToken cancellationToken)
    {
        var found = await FindAsync([.. principals.Select(IdOf).OfType<Guid>().Distinct()], cancellationToken);
        var holding = new Dictionary<ClaimsPrincipal, TemperatureUnit>();
        foreach (var principal in principals)
        {
            if (IdOf(principal) is { } id && found.TryGetValue(id, out var session) && IsOf(principal, session))
                holding[principal] = session.Unit;
        }

        return holding;
    }

    private bool MayEndByCalendar => !clocks.IsOwnInDoubt && time.GetElapsedTime(_start) >= Settling;

    private static bool IsOf(ClaimsPrincipal principal, Found found) =>
        Visitor.PersonId(principal) == found.PersonId && principal.FindFirstValue(StampClaim) == found.Stamp && principal.IsInRole(found.Role.ToString());

    private async Task<Dictionary<Guid, Found>> FindAsync(Guid[] ids, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.Sessions.Where(s => ids.Contains(s.Id))
            .Join(db.People, s => s.PersonId, p => p.Id, (s, p) => new Found(s.Id, p.Id, p.SecurityStamp ?? "", p.Role, p.Unit, s.SeenAt))
            .ToDictionaryAsync(f => f.Id, cancellationToken);
    }

    private sealed record Found(Guid Id, int PersonId, string Stamp, Role Role, TemperatureUnit Unit, DateTimeOffset SeenAt);
}
