using System.Data.Common;
using System.Globalization;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.People;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Commands;

/// <summary>Ends what a registry from a backup says and time has overtaken: sign-ins, links, codes, messages, what was told.</summary>
/// <remarks>
/// What was ended, used or revoked after the backup cannot be told from what was not, so all of it ends. Gateways and people stay:
/// those that were not changed since go on as before.
/// </remarks>
internal static class RestoredRegistry
{
    private const string Waited = "it waited in a backup that was restored";

    /// <summary>Ends it in a file that no server uses yet; its tables are brought up to date first, as the next start would.</summary>
    /// <param name="connection">The file, open for writing.</param>
    /// <param name="options">How the registry is opened otherwise.</param>
    /// <param name="now">Now, UTC.</param>
    /// <param name="cancellationToken">Gives up; the file is good for nothing then.</param>
    /// <returns>What was ended and what to do, one line each.</returns>
    public static async Task<IReadOnlyList<string>> EndWhatIsOverAsync(
        DbConnection connection, DbContextOptions<RegistryDb> options, DateTimeOffset now, CancellationToken cancellationToken)
    {
        await using var db = DatabaseServices.Open(connection, options);
        await db.Database.MigrateAsync(cancellationToken);
        await using var together = await db.Database.BeginTransactionAsync(cancellationToken);
        var sessions = await db.Sessions.ExecuteDeleteAsync(cancellationToken);
        // Whatever they say of when they end, and revoked: no clock, now or later, brings any of them to life.
        var signInLinks = await db.SignInLinks.Where(l => l.UsedAt == null && l.RevokedAt == null)
            .ExecuteUpdateAsync(set => set.SetProperty(l => l.RevokedAt, now), cancellationToken);
        var ownerLinks = await db.OwnerLinks.Where(l => l.RevokedAt == null)
            .ExecuteUpdateAsync(set => set.SetProperty(l => l.RevokedAt, now), cancellationToken);
        var codes = await db.EnrolmentCodes.Where(c => c.UsedAt == null)
            .ExecuteUpdateAsync(set => set.SetProperty(c => c.ExpiresAt, c => c.CreatedAt), cancellationToken);
        var messages = await ExpireAsync(db.Notifications, cancellationToken) + await ExpireAsync(db.BusinessNotices, cancellationToken);
        await db.AlertEvents.Where(e => e.Unseen == UnseenStanding.Watched)
            .ExecuteUpdateAsync(set => set.SetProperty(e => e.Unseen, UnseenStanding.Settled), cancellationToken);
        await db.ConcernedWalkers.Where(c => c.Unseen == UnseenStanding.Watched)
            .ExecuteUpdateAsync(set => set.SetProperty(c => c.Unseen, UnseenStanding.Settled), cancellationToken);
        // What is still wrong is found and told again; of the rest the business has heard, or need not hear any more.
        await db.Faults.Where(f => f.EndedAt == null).ExecuteUpdateAsync(set => set.SetProperty(f => f.EndedAt, now), cancellationToken);
        var spots = await db.AlertMemories.ExecuteDeleteAsync(cancellationToken);
        await together.CommitAsync(cancellationToken);
        return
        [
            Line($"sessions: {sessions} ended; people sign in with their passkey, or with a new link (person link)"),
            Line($"links: {signInLinks} for signing in and {ownerLinks} of owners revoked, as they may have been used or revoked since the backup; make new ones (person link, owner link)"),
            Line($"enrolment codes: {codes} expired; make a new one for a gateway that waits for it (gateway code)"),
            Line($"messages: {messages} that waited are not sent"),
            Line($"alerts: what was told of {spots} spots is forgotten; those that are too hot now are told again"),
            "spots: their limits, their ground and who follows them are those of the backup; look at the limits before walkers rely on them (spot list)",
            "gateways: they connect as before; one whose password was changed since the backup must be enrolled again (gateway code)",
            "removed since the backup and there again: people, passkeys, phones, gateways, spots; remove them again (person list, gateway list, spot list)",
        ];
    }

    private static Task<int> ExpireAsync<T>(IQueryable<T> outbox, CancellationToken cancellationToken)
        where T : OutboxRow =>
        outbox.Where(row => row.Standing == NotificationStanding.Waiting).ExecuteUpdateAsync(
            set => set.SetProperty(row => row.Standing, NotificationStanding.Expired).SetProperty(row => row.LastFault, Waited),
            cancellationToken);

    private static string Line(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
