using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Server.Registry;

namespace PavementWatch.Server.Tests.Registry;

/// <summary>A registry of before the change keeps its people, and all that refers to them.</summary>
public sealed class PeopleBecomeUsersTests
{
    private const string EditionBefore = "20261125140038_UnseenWarnings";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task People_keep_their_numbers_names_roles_and_what_refers_to_them()
    {
        var file = Path.GetTempFileName();
        try
        {
            await using (var before = Open(file))
            {
                await before.GetService<IMigrator>().MigrateAsync(EditionBefore, Cancel);
                await before.Database.ExecuteSqlRawAsync(
                    """
                    INSERT INTO People (Id, Name, Role, CreatedAt) VALUES (3, 'Ines', 'Walker', 1000), (7, 'Jörg', 'Business', 2000);
                    INSERT INTO SignInLinks (Id, PersonId, TokenHash, CreatedAt, ExpiresAt) VALUES (1, 3, 'abc', 1000, 5000);
                    INSERT INTO Dogs (Id, Name, FlatFaced, Overweight) VALUES (1, 'Pickle', 0, 0);
                    INSERT INTO Walks (Id, DogId, WalkerId, Start, Minutes, Note) VALUES (1, 1, 3, 4000, 30, 'Over the grass.');
                    """,
                    Cancel);
            }

            await using var db = Open(file);
            await db.Database.MigrateAsync(Cancel);

            var people = await db.People.OrderBy(p => p.Id).ToListAsync(Cancel);
            Assert.Equal([(3, "Ines", Role.Walker), (7, "Jörg", Role.Business)], people.Select(p => (p.Id, p.Name, p.Role)));
            Assert.Equal(["Ines", "Jörg"], people.Select(p => p.NormalizedUserName));
            Assert.Equal(2, people.Select(p => p.SecurityStamp).Where(s => s?.Length == 40).Distinct().Count());
            Assert.Equal(3, (await db.SignInLinks.SingleAsync(Cancel)).PersonId);
            Assert.Equal((3, "Over the grass."), ((await db.Walks.SingleAsync(Cancel)).WalkerId, (await db.Walks.SingleAsync(Cancel)).Note));
        }
        finally
        {
            Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
            File.Delete(file);
        }
    }

    private static RegistryDb Open(string file) => new(new DbContextOptionsBuilder<RegistryDb>()
        .UseSqlite($"Data Source={file}")
        .UseApplicationServiceProvider(new ServiceCollection().Configure<IdentityOptions>(RegistryDb.TablesOfIdentity).BuildServiceProvider())
        .Options);
}
