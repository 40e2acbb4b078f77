using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Identity;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Alerts;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.People;
using PavementWatch.Server.Privacy;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Walks;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Privacy;

/// <summary>What is kept of a person, as a file for them and as something that can be erased.</summary>
public sealed partial class PersonalDataTests
{
    private const string Name = "Ines-of-the-marker";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Every_table_that_refers_to_people_is_decided_upon()
    {
        await using var server = await StartAsync();
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var referring = db.Model.GetEntityTypes()
            .Where(t => !t.IsOwned())
            .Where(t => t.ClrType == typeof(PersonRow)
                || t.GetForeignKeys().Any(k => k.PrincipalEntityType.ClrType == typeof(PersonRow))
                || t.GetProperties().Any(p => Person().IsMatch(p.Name)))
            .Select(t => t.ClrType);

        Assert.Equal(referring.OrderBy(t => t.Name), PersonalData.Tables.Select(t => t.Row).OrderBy(t => t.Name));
    }

    [Fact]
    public async Task Export_holds_what_is_theirs_from_every_table_and_nothing_of_others_nor_any_secret()
    {
        await using var server = await StartAsync();
        var (ines, secrets) = await FillAsync(server, Name, "of-ines");
        var (_, others) = await FillAsync(server, "Tobias", "of-tobias");
        var file = Path.Combine(server.Folder, "ines.json");

        var (exit, said) = await RunAsync("person", "export", Name, file, $"--Data:Folder={server.Folder}");

        Assert.True(exit == 0, said);
        var text = await File.ReadAllTextAsync(file, Cancel);
        using var json = JsonDocument.Parse(text);
        foreach (var table in PersonalData.Tables.Where(t => t.Exported.Length > 0))
        {
            var part = json.RootElement.GetProperty(table.Exported);
            Assert.True(part.ValueKind == JsonValueKind.Object || part.GetArrayLength() > 0, $"{table.Exported} is empty");
            Assert.DoesNotContain("tobias", part.GetRawText(), StringComparison.OrdinalIgnoreCase);
        }

        Assert.Equal(Name, json.RootElement.GetProperty("person").GetProperty("Name").GetString());
        Assert.Equal("Both", json.RootElement.GetProperty("person").GetProperty("TemperatureUnit").GetString());
        Assert.Contains("note of-ines", text, StringComparison.Ordinal);
        Assert.All(secrets.Concat(others), secret => Assert.DoesNotContain(secret, text, StringComparison.Ordinal));
        var again = await RunAsync("person", "export", Name, file, $"--Data:Folder={server.Folder}");
        Assert.Equal(1, again.Exit);
        Assert.Contains("is there already", again.Said, StringComparison.Ordinal);
        Assert.True(ines > 0);
    }

    [Fact]
    public async Task Erasing_leaves_no_trace_of_the_name_in_the_files_and_says_what_is_kept_and_why()
    {
        var folder = Directory.CreateTempSubdirectory("pw-erase-").FullName;
        try
        {
            int ines;
            int tobias;
            await using (var server = await StartAsync(folder))
            {
                (ines, _) = await FillAsync(server, Name, "of-ines");
                (tobias, _) = await FillAsync(server, "Tobias", "of-tobias");
            }

            var first = await RunAsync("person", "erase", Name, $"--Data:Folder={folder}");
            Assert.Equal(1, first.Exit);
            Assert.Contains("nothing was erased; repeat with --yes", first.Said, StringComparison.Ordinal);
            var (exit, said) = await RunAsync("person", "erase", Name, "--yes", $"--Data:Folder={folder}");
            Assert.True(exit == 0, said);
            Assert.Contains("1 walks kept without the walker", said, StringComparison.Ordinal);
            Assert.Contains("1 checks kept without who took them", said, StringComparison.Ordinal);
            Assert.Contains("1 decisions kept without the name", said, StringComparison.Ordinal);

            SqliteConnection.ClearAllPools();
            foreach (var file in Directory.GetFiles(folder, "registry.sqlite*"))
                Assert.DoesNotContain(Name, Encoding.UTF8.GetString(await File.ReadAllBytesAsync(file, Cancel)), StringComparison.Ordinal);
            await using (var server = await StartAsync(folder))
            {
                await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
                Assert.Equal([tobias], await db.People.Select(p => p.Id).ToListAsync(Cancel));
                Assert.Equal([tobias], await db.SignInLinks.Select(l => l.PersonId).ToListAsync(Cancel));
                Assert.Equal([tobias], await db.Sessions.Select(s => s.PersonId).ToListAsync(Cancel));
                Assert.Equal([tobias], await db.Set<IdentityUserPasskey<int>>().Select(k => k.UserId).ToListAsync(Cancel));
                Assert.Equal([tobias], await db.PushSubscriptions.Select(s => s.PersonId).ToListAsync(Cancel));
                Assert.Equal([tobias], await db.Notifications.Select(n => n.PersonId).ToListAsync(Cancel));
                Assert.Equal([tobias], await db.ConcernedWalkers.Select(c => c.PersonId).ToListAsync(Cancel));
                Assert.Equal([null, tobias], await db.Walks.OrderBy(w => w.WalkerId).Select(w => w.WalkerId).ToListAsync(Cancel));
                Assert.Equal([null, tobias], await db.SpotChecks.OrderBy(c => c.PersonId).Select(c => c.PersonId).ToListAsync(Cancel));
                Assert.Equal(
                    [(null, PersonalData.Erased), (tobias, "Tobias")],
                    (await db.FitDecisions.OrderBy(d => d.PersonId).ToListAsync(Cancel)).Select(d => (d.PersonId, d.PersonName)));
            }

            Assert.Contains("1 thresholds kept without the name", said, StringComparison.Ordinal);
            Assert.NotEqual(ines, tobias);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public async Task Erasing_beside_a_running_server_leaves_no_trace_of_the_name_in_any_file_of_the_data_folder()
    {
        await using var server = await StartAsync();
        var (ines, _) = await FillAsync(server, Name, "of-ines");
        await using (var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel))
        {
            // What was there for a while and went long before: SQLite frees its pages and leaves what stands in them.
            db.AddRange(Enumerable.Range(0, 400).Select(i => new SessionRow
            {
                Id = Guid.NewGuid(),
                PersonId = ines,
                CreatedAt = Noon,
                SeenAt = Noon,
                Device = $"phone {i} of {Name}",
                EnteredBy = "link 1",
            }));
            await db.SaveChangesAsync(Cancel);
            await db.Sessions.Where(s => s.EnteredBy == "link 1").ExecuteDeleteAsync(Cancel);
            await db.Database.ExecuteSqlRawAsync("PRAGMA wal_checkpoint(TRUNCATE)", Cancel);
        }

        Assert.NotEmpty(await FilesWithNameAsync(server.Folder));

        var (exit, said) = await RunAsync("person", "erase", Name, "--yes", $"--Data:Folder={server.Folder}");

        Assert.True(exit == 0, said);
        Assert.DoesNotContain("remnants", said, StringComparison.Ordinal);
        Assert.Empty(await FilesWithNameAsync(server.Folder));
    }

    private static async Task<List<string>> FilesWithNameAsync(string folder)
    {
        List<string> found = [];
        foreach (var path in Directory.GetFiles(folder, "*", SearchOption.AllDirectories).Where(path => Path.GetFileName(path) != "server.lock"))
        {
            await using var file = new FileStream(path, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
            using var text = new StreamReader(file, Encoding.Latin1);
            if ((await text.ReadToEndAsync(Cancel)).Contains(Name, StringComparison.OrdinalIgnoreCase))
                found.Add(path);
        }

        return found;
    }

    /// <summary>One row in every table there is.</summary>
    internal static async Task<(int Id, IReadOnlyList<string> Secrets)> FillAsync(RunningServer server, string name, string marker)
    {
        var people = server.Get<PersonStore>();
        var person = await people.AddAsync(name, Role.Walker, Cancel);
        var token = await people.NewSignInTokenAsync(person.Id, Cancel);
        Assert.NotNull(await people.EnterAsync(token, $"a phone {marker}", Cancel));
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var spot = NorthGate.Id.Value;
        var dog = new DogRow { Name = "Pickle" };
        var device = new PushSubscriptionRow
        {
            PersonId = person.Id,
            Endpoint = $"https://push.example/{marker}",
            P256dh = $"key-{marker}",
            Auth = $"secret-{marker}",
            CreatedAt = Noon,
            Follows = [new FollowRow { SpotId = spot }],
        };
        var change = new AlertEventRow { SpotId = spot, From = AlertState.Clear, To = AlertState.TooHot, Because = AlertReason.ReadingsOverLimit, Side = AlertSide.Heat, At = Noon, LimitCelsius = 49, Notified = true };
        var fit = new FitRow { Id = $"fit-{marker}", SpotId = spot, FittedAt = Noon, Standing = FitStanding.Replaced, Json = "{}", Reason = "x", DecidedAt = Noon };
        db.AddRange(dog, device, change, fit);
        db.Add(new IdentityUserPasskey<int>
        {
            UserId = person.Id,
            CredentialId = Encoding.UTF8.GetBytes(marker),
            Data = new IdentityPasskeyData { Name = $"phone {marker}", PublicKey = [1], AttestationObject = [1], ClientDataJson = [1], CreatedAt = Noon },
        });
        await db.SaveChangesAsync(Cancel);
        db.AddRange(
            new WalkRow { DogId = dog.Id, WalkerId = person.Id, Start = Noon, Minutes = 30, Note = $"note {marker}" },
            new SpotCheckRow { SpotId = spot, At = Noon, ShownCelsius = 50, PersonId = person.Id, EnteredAt = Noon },
            new FitDecisionRow { FitId = fit.Id, SpotId = spot, At = Noon, PersonId = person.Id, PersonName = name, Accepted = true, Reason = "x" },
            new AgreementThresholdsRow { LeastPairs = 8, MostBiasKelvin = 1, MostDifferenceKelvin = 4, LeastSpanKelvin = 15, ThermometerAccuracyKelvin = 1.5, SetAt = Noon, PersonId = person.Id, PersonName = name },
            new ConcernedWalkerRow { EventId = change.Id, PersonId = person.Id, Since = Noon },
            new NotificationRow
            {
                Id = Guid.NewGuid(),
                EventId = change.Id,
                PersonId = person.Id,
                SubscriptionId = device.Id,
                SpotId = spot,
                Side = AlertSide.Heat,
                Payload = "{}",
                CreatedAt = Noon,
                ExpiresAt = Noon,
                NextAttemptAt = Noon,
                Standing = NotificationStanding.Sent,
            });
        await db.SaveChangesAsync(Cancel);
        return (person.Id, [token, LinkToken.Hash(token), $"secret-{marker}", $"key-{marker}", person.SecurityStamp!]);
    }

    private static async Task<(int Exit, string Said)> RunAsync(params string[] args)
    {
        using var said = new StringWriter();
        var exit = await CommandLine.RunAsync(args, said, said);
        return (exit, said.ToString());
    }

    [GeneratedRegex("(Person|Walker|User|Owner)(Id|Name)?$")]
    private static partial Regex Person();
}
