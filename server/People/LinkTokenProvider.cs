using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Access;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.People;

/// <summary>Makes and takes the tokens of sign-in links: each good once, until it expires or is revoked. Only hashes are kept.</summary>
internal sealed class LinkTokenProvider(
    IDbContextFactory<RegistryDb> registry,
    IOptions<AccessOptions> options,
    [FromKeyedServices(Clocks.People)] TimeProvider time) : IUserTwoFactorTokenProvider<PersonRow>
{
    /// <summary>Name among Identity's token providers.</summary>
    public const string Name = "link";

    /// <summary>The only purpose there is.</summary>
    public const string SignIn = "sign-in";

    // What ended long ago helps nobody to understand who came in.
    private static readonly TimeSpan KeptAfterEnd = TimeSpan.FromDays(90);

    public async Task<string> GenerateAsync(string purpose, UserManager<PersonRow> manager, PersonRow user)
    {
        Check(purpose);
        var token = LinkToken.New();
        var now = time.GetUtcNow();
        var old = now - KeptAfterEnd;
        await using var db = await registry.CreateDbContextAsync();
        await db.SignInLinks.Where(l => l.PersonId == user.Id && l.ExpiresAt < old).ExecuteDeleteAsync();
        db.SignInLinks.Add(new SignInLinkRow
        {
            PersonId = user.Id,
            TokenHash = LinkToken.Hash(token),
            CreatedAt = now,
            ExpiresAt = now + options.Value.SignInLinkLife,
        });
        await db.SaveChangesAsync();
        return token;
    }

    /// <summary>Uses the link up; of two who come at once with the same one, one succeeds.</summary>
    public async Task<bool> ValidateAsync(string purpose, string token, UserManager<PersonRow> manager, PersonRow user)
    {
        Check(purpose);
        var hash = LinkToken.Hash(token);
        DateTimeOffset? now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync();
        return await Good(db, hash, now.Value).Where(l => l.PersonId == user.Id)
            .ExecuteUpdateAsync(l => l.SetProperty(x => x.UsedAt, now)) == 1;
    }

    public Task<bool> CanGenerateTwoFactorTokenAsync(UserManager<PersonRow> manager, PersonRow user) => Task.FromResult(false);

    /// <summary>The link with this hash, while it may be used.</summary>
    public static IQueryable<SignInLinkRow> Good(RegistryDb db, string hash, DateTimeOffset now) =>
        db.SignInLinks.Where(l => l.TokenHash == hash && l.ExpiresAt > now && l.RevokedAt == null && l.UsedAt == null);

    private static void Check(string purpose)
    {
        if (purpose != SignIn)
            throw new NotSupportedException($"a link's token is for {SignIn}, not for {purpose}");
    }
}
