using System.Security.Claims;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Names;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Access;

/// <summary>The people who sign in, their links, and the links of owners.</summary>
internal sealed class People(
    IDbContextFactory<RegistryDb> registry,
    IOptions<AccessOptions> options,
    [FromKeyedServices(Clocks.People)] TimeProvider time)
{
    /// <summary>Adds somebody; a person of that name is left as they are, but takes the role.</summary>
    /// <exception cref="ArgumentException">The name breaks <see cref="NameRule"/>; the message says how.</exception>
    public async Task<PersonRow> AddAsync(string name, Role role, CancellationToken cancellationToken)
    {
        if (NameRule.Fault("name", name) is { } fault)
            throw new ArgumentException(fault, nameof(name));
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var person = await db.People.SingleOrDefaultAsync(p => p.UserName == name, cancellationToken);
        if (person is null)
            db.People.Add(person = new PersonRow { Name = name, Role = role, CreatedAt = time.GetUtcNow() });
        person.Role = role;
        await db.SaveChangesAsync(cancellationToken);
        return person;
    }

    /// <summary>A new sign-in link's token; it is not kept, only its hash.</summary>
    public async Task<string> NewSignInTokenAsync(int personId, CancellationToken cancellationToken)
    {
        var token = LinkToken.New();
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        db.SignInLinks.Add(new SignInLinkRow
        {
            PersonId = personId,
            TokenHash = LinkToken.Hash(token),
            CreatedAt = now,
            ExpiresAt = now + options.Value.SignInLinkLife,
        });
        await db.SaveChangesAsync(cancellationToken);
        return token;
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

    /// <summary>Whoever the sign-in link belongs to; <c>null</c> when it is unknown, expired or revoked.</summary>
    public async Task<ClaimsPrincipal?> EnterAsync(string token, CancellationToken cancellationToken)
    {
        var hash = LinkToken.Hash(token);
        var now = time.GetUtcNow();
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var person = await db.SignInLinks
            .Where(l => l.TokenHash == hash && l.ExpiresAt > now && l.RevokedAt == null)
            .Join(db.People, l => l.PersonId, p => p.Id, (l, p) => p)
            .SingleOrDefaultAsync(cancellationToken);
        return person is null ? null : Visitor.Of(person);
    }

    /// <summary>Whether a sign-in still holds: the person is there and has the role.</summary>
    public async Task<bool> StillHoldsAsync(ClaimsPrincipal principal, CancellationToken cancellationToken)
    {
        if (Visitor.PersonId(principal) is not { } personId)
            return false;
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        var role = await db.People.Where(p => p.Id == personId).Select(p => (Role?)p.Role)
            .SingleOrDefaultAsync(cancellationToken);
        return role is { } r && principal.IsInRole(r.ToString());
    }
}
