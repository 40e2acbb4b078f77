using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;

namespace PavementWatch.Server.Tests.Commands;

/// <summary>People and links from the command line.</summary>
public sealed partial class PersonCommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-people-").FullName;

    private string Data => $"--Data:Folder={_folder}";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public async Task People_are_added_listed_changed_and_removed()
    {
        await SaysAsync(0, "Marta, business. This link signs in once", "person", "add", "Marta", "--role", "business");
        await SaysAsync(0, "/enter/", "user", "add", "Ines", "--role", "walker");
        await SaysAsync(2, "name holds a line break", "person", "add", "two\nlines", "--role", "walker");
        await SaysAsync(0, "/enter/", "person", "link", "Ines");
        await SaysAsync(0, "walker    Ines: signed in on 0, 2 links wait", "person", "list");
        await SaysAsync(1, "there is nobody named 'Tobias'", "person", "link", "Tobias");

        await SaysAsync(1, "there is somebody named Marta already", "person", "rename", "Ines", "Marta");
        await SaysAsync(0, "Ines is called Inés now", "person", "rename", "Ines", "Inés");
        await SaysAsync(0, "Inés is analyst now", "person", "role", "Inés", "--role", "analyst");
        await SaysAsync(0, "Inés, analyst, reads temperatures in °C and °F", "person", "show", "Inés");
        await SaysAsync(1, "there is nobody named 'Tobias'", "person", "unit", "Tobias", "--in", "celsius");
        await SaysAsync(2, "--in is 'kelvin', expected celsius, fahrenheit or both", "person", "unit", "Inés", "--in", "kelvin");
        await SaysAsync(0, "Inés reads temperatures in °F now", "person", "unit", "Inés", "--in", "fahrenheit");
        await SaysAsync(0, "Inés, analyst, reads temperatures in °F", "person", "show", "Inés");
        var shown = await SaysAsync(0, "link     ", "person", "show", "Inés");
        var link = LinkNumber().Match(shown).Groups[1].Value;
        await SaysAsync(0, "revoked", "person", "revoke-link", "Inés", link);
        await SaysAsync(1, "there is no such link, or it is revoked already", "person", "revoke-link", "Inés", link);
        await SaysAsync(1, "there is no such link", "person", "revoke-link", "Marta", link);
        await SaysAsync(0, "Inés is signed out everywhere: 0 sessions and the alerts on 0 devices are ended", "person", "sign-out", "Inés");
        await SaysAsync(0, "/enter/", "person", "link", "Inés");
        await SaysAsync(0, "0 passkeys and 2 links that wait; to end these too: person lost-phone Inés", "person", "sign-out", "Inés");
        await SaysAsync(0, "ended for Inés: 0 sessions, 2 links that waited, 0 passkeys, alerts on 0 devices", "person", "lost-phone", "Inés");
        await SaysAsync(0, "signed in on 0, 0 links wait", "person", "list");

        await SaysAsync(1, "Marta is the last person of the business", "person", "remove", "Marta");
        await SaysAsync(
            1, "there is somebody named Marta already, business; give them that role with: person role Marta --role walker, or a new link with: person link Marta",
            "person", "add", "Marta", "--role", "walker");
        await SaysAsync(0, "business  Marta", "person", "list");
        await SaysAsync(0, "/enter/", "person", "add", "Marta", "--role", "business");
        await SaysAsync(0, "Inés is removed", "person", "remove", "Inés");
        Assert.DoesNotContain("Inés", await SaysAsync(0, "Marta", "person", "list"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Erasing_without_yes_says_what_it_would_do_and_that_it_did_nothing()
    {
        await SaysAsync(0, "/enter/", "person", "add", "Ines", "--role", "walker");

        var said = await SaysAsync(1, "Erasing Ines would do this:", "person", "erase", "Ines");

        Assert.Matches("  person +would be removed", said);
        Assert.Contains("nothing was erased; repeat with --yes to erase Ines", said, StringComparison.Ordinal);
        await SaysAsync(0, "Ines", "person", "list");
        await SaysAsync(0, "Ines is erased.", "person", "erase", "Ines", "--yes");
    }

    [Fact]
    public async Task Owners_links_are_made_listed_and_revoked()
    {
        await SaysAsync(0, "no owner has a link", "owner", "list");
        await using (var db = Open())
        {
            db.Dogs.Add(new DogRow { Name = "Pickle" });
            await db.SaveChangesAsync(Cancel);
        }

        await SaysAsync(1, "known: Pickle", "owner", "link", "Boulder");
        await SaysAsync(1, "days are 0, expected 1 to 365", "owner", "link", "Pickle", "--days", "0");
        await SaysAsync(0, "/o/", "owner", "link", "Pickle", "--days", "7");
        var number = (await SaysAsync(0, "Pickle: made", "owner", "list")).Split(' ')[0];
        await SaysAsync(0, "revoked", "owner", "revoke", number);
        await SaysAsync(0, "no owner has a link", "owner", "list");
    }

    private RegistryDb Open() => new(new DbContextOptionsBuilder<RegistryDb>()
        .UseSqlite($"Data Source={Path.Combine(_folder, "registry.sqlite")}")
        .UseApplicationServiceProvider(new ServiceCollection().Configure<Microsoft.AspNetCore.Identity.IdentityOptions>(RegistryDb.TablesOfIdentity).BuildServiceProvider())
        .Options);

    private async Task<string> SaysAsync(int exit, string says, params string[] args)
    {
        using var said = new StringWriter();
        var code = await CommandLine.RunAsync([.. args, Data], said, said);
        Assert.Contains(says, said.ToString(), StringComparison.Ordinal);
        Assert.Equal(exit, code);
        return said.ToString();
    }

    [GeneratedRegex(@"link     (\d+):")]
    private static partial Regex LinkNumber();
}
