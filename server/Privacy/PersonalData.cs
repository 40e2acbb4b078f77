using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.People;
using PavementWatch.Server.Walks;

namespace PavementWatch.Server.Privacy;

/// <summary>What is kept of a person: given to them as a file, or erased.</summary>
internal sealed class PersonalData(IDbContextFactory<RegistryDb> registry, PersonStore people)
{
    /// <summary>Stands in decisions in place of an erased person's name.</summary>
    public const string Erased = "somebody who was erased";

    private static readonly JsonSerializerOptions Form = new() { WriteIndented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>Every table that refers to a person: under which name its rows are exported, and what erasing does to them.</summary>
    /// <remarks>A table that is missing here fails a test, so that a new one is decided upon.</remarks>
    public static IReadOnlyList<PersonalTable> Tables { get; } =
    [
        new(typeof(PersonRow), "person", "removed"),
        new(typeof(SignInLinkRow), "signInLinks", "removed"),
        new(typeof(SessionRow), "sessions", "removed"),
        new(typeof(IdentityUserPasskey<int>), "passkeys", "removed"),
        new(typeof(PushSubscriptionRow), "devices", "removed, with the spots they follow"),
        new(typeof(NotificationRow), "notifications", "removed"),
        new(typeof(ConcernedWalkerRow), "warnings", "removed"),
        new(typeof(WalkRow), "walks", "kept without the walker: the dog's owner reads them"),
        new(typeof(SpotCheckRow), "checks", "kept without who took them: they say how hot the ground was"),
        new(typeof(FitDecisionRow), "decisions", "kept without the name: they say why a fit is in use"),
        new(typeof(AgreementThresholdsRow), "thresholds", "kept without the name: they say what verdicts rest on"),
        // Identity's own tables that nothing here writes to.
        new(typeof(IdentityUserClaim<int>), "", "removed"),
        new(typeof(IdentityUserLogin<int>), "", "removed"),
        new(typeof(IdentityUserToken<int>), "", "removed"),
    ];

    /// <summary>All that is kept of somebody, as JSON; <c>null</c> for nobody of that number. No secret and no hash is in it.</summary>
    public async Task<string?> ExportAsync(int personId, CancellationToken cancellationToken)
    {
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        if (await db.People.AsNoTracking().SingleOrDefaultAsync(p => p.Id == personId, cancellationToken) is not { } person)
            return null;
        var all = new JsonObject
        {
            ["person"] = JsonSerializer.SerializeToNode(new { person.Name, Role = person.Role.ToString(), person.CreatedAt, TemperatureUnit = person.Unit.ToString() }),
            ["signInLinks"] = Rows(await db.SignInLinks.Where(l => l.PersonId == personId)
                .Select(l => new { l.Id, l.CreatedAt, l.ExpiresAt, l.UsedAt, l.RevokedAt }).ToListAsync(cancellationToken)),
            ["sessions"] = Rows(await db.Sessions.Where(s => s.PersonId == personId)
                .Select(s => new { s.Device, s.CreatedAt, s.SeenAt, s.EnteredBy }).ToListAsync(cancellationToken)),
            ["passkeys"] = Rows((await db.Set<IdentityUserPasskey<int>>().AsNoTracking().Where(k => k.UserId == personId).ToListAsync(cancellationToken))
                .Select(k => new { Device = k.Data.Name, k.Data.CreatedAt }).ToList()),
            ["devices"] = Rows(await db.PushSubscriptions.Where(s => s.PersonId == personId)
                .Select(s => new { s.Endpoint, s.CreatedAt, s.GoneAt, Follows = s.Follows.Select(f => f.SpotId).ToList() }).ToListAsync(cancellationToken)),
            ["notifications"] = Rows(await db.Notifications.Where(n => n.PersonId == personId).OrderBy(n => n.CreatedAt)
                .Select(n => new { n.SpotId, n.CreatedAt, Standing = n.Standing.ToString(), n.SentAt, n.ShownAt, Message = n.Payload }).ToListAsync(cancellationToken)),
            ["warnings"] = Rows(await (
                from concerned in db.ConcernedWalkers
                join change in db.AlertEvents on concerned.EventId equals change.Id
                where concerned.PersonId == personId
                orderby concerned.Id
                select new { change.SpotId, change.At, concerned.Since, Unseen = concerned.Unseen.ToString() }).ToListAsync(cancellationToken)),
            ["walks"] = Rows(await db.Walks.Where(w => w.WalkerId == personId).OrderBy(w => w.Start)
                .Select(w => new
                {
                    Dog = db.Set<DogRow>().Where(d => d.Id == w.DogId).Select(d => d.Name).FirstOrDefault(),
                    w.Start,
                    w.Minutes,
                    w.Note,
                    Spots = w.Spots.OrderBy(s => s.Position).Select(s => s.SpotId).ToList(),
                }).ToListAsync(cancellationToken)),
            ["checks"] = Rows(await db.SpotChecks.Where(c => c.PersonId == personId).OrderBy(c => c.At)
                .Select(c => new { c.SpotId, c.At, c.EnteredAt, c.ShownCelsius, c.EmissivityFraction, Ground = c.Ground.ToString(), c.Instrument, c.Note }).ToListAsync(cancellationToken)),
            ["decisions"] = Rows(await db.FitDecisions.Where(d => d.PersonId == personId).OrderBy(d => d.At)
                .Select(d => new { d.SpotId, d.FitId, d.At, d.PersonName, d.Accepted, d.Reason }).ToListAsync(cancellationToken)),
            ["thresholds"] = Rows(await db.AgreementThresholds.Where(t => t.PersonId == personId).OrderBy(t => t.SetAt)
                .Select(t => new { t.SetAt, t.PersonName, t.LeastPairs, t.MostBiasKelvin, t.MostDifferenceKelvin, t.LeastSpanKelvin, t.ThermometerAccuracyKelvin }).ToListAsync(cancellationToken)),
        };
        return all.ToJsonString(Form);
    }

    /// <summary>Erases somebody as <see cref="Tables"/> says, then writes the file anew, so that nothing of them is left between its rows.</summary>
    /// <returns>What was kept, how much of it and why, and what of the file could not be written anew; or why nothing was erased.</returns>
    public async Task<(IReadOnlyList<string> Kept, string? Fault)> EraseAsync(int personId, CancellationToken cancellationToken)
    {
        if (await people.IsLastOfBusinessAsync(personId, cancellationToken) is { } last)
            return ([], last);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await db.Database.OpenConnectionAsync(cancellationToken);
        List<string> kept;
        await using (var together = await db.Database.BeginTransactionAsync(cancellationToken))
        {
            var checks = await db.SpotChecks.Where(c => c.PersonId == personId)
                .ExecuteUpdateAsync(c => c.SetProperty(x => x.PersonId, (int?)null), cancellationToken);
            var decisions = await db.FitDecisions.Where(d => d.PersonId == personId)
                .ExecuteUpdateAsync(d => d.SetProperty(x => x.PersonId, (int?)null).SetProperty(x => x.PersonName, Erased), cancellationToken);
            var walks = await db.Walks.Where(w => w.WalkerId == personId)
                .ExecuteUpdateAsync(w => w.SetProperty(x => x.WalkerId, (int?)null), cancellationToken);
            var thresholds = await db.AgreementThresholds.Where(t => t.PersonId == personId)
                .ExecuteUpdateAsync(t => t.SetProperty(x => x.PersonId, (int?)null).SetProperty(x => x.PersonName, Erased), cancellationToken);
            await db.Notifications.Where(n => n.PersonId == personId).ExecuteDeleteAsync(cancellationToken);
            await db.ConcernedWalkers.Where(c => c.PersonId == personId).ExecuteDeleteAsync(cancellationToken);
            // The rest goes with the person.
            await db.People.Where(p => p.Id == personId).ExecuteDeleteAsync(cancellationToken);
            await together.CommitAsync(cancellationToken);
            kept = [Kept<WalkRow>(walks, "walks"), Kept<SpotCheckRow>(checks, "checks"), Kept<FitDecisionRow>(decisions, "decisions"), Kept<AgreementThresholdsRow>(thresholds, "thresholds")];
        }

        await people.ForgetAsync(personId, cancellationToken);
        if (await RegistryRewrite.RunAsync(db) is { } left)
            kept.Add(left);
        return (kept, null);
    }

    private static string Kept<TRow>(int count, string what) => $"{count} {what} {Tables.Single(t => t.Row == typeof(TRow)).Erasing}";

    private static JsonArray Rows<T>(IReadOnlyList<T> rows) => new([.. rows.Select(row => JsonSerializer.SerializeToNode(row))]);
}

/// <summary>A table that refers to people.</summary>
/// <param name="Row">Its row.</param>
/// <param name="Exported">Name of its rows in an export; empty where nothing is written there.</param>
/// <param name="Erasing">What erasing does to them.</param>
internal sealed record PersonalTable(Type Row, string Exported, string Erasing);
