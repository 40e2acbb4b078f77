using System.CommandLine;
using PavementWatch.Core.Names;
using PavementWatch.Dashboards.People;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Database;
using PavementWatch.Server.People;
using PavementWatch.Server.Privacy;

namespace PavementWatch.Server.Commands;

/// <summary>People, their links and sessions, and owners' links from the command line. A running server follows within two seconds.</summary>
internal static class PersonCommands
{
    public static void AddTo(RootCommand root)
    {
        var person = new Command("person", "People who sign in: their links, sessions and data.")
        {
            Add(), List(), Show(), Link(), SetRole(), Rename(), SetUnit(), Remove(), RevokeLink(), EndSessions(), LostPhone(), Export(), Erase(),
        };
        // What it was called at first.
        person.Aliases.Add("user");
        root.Subcommands.Add(person);
        root.Subcommands.Add(new Command("owner", "Private links of dogs' owners.") { OwnerList(), OwnerLink(), OwnerRevoke() });
    }

    private static Command Add()
    {
        var (name, role) = (Name(), RoleOption());
        return Verb("add", "Add somebody and print a sign-in link. Somebody who is there keeps their role; with that same role they get a new link.", [name, role], async (run, token) =>
        {
            if (NameRule.Fault("name", run.Parsed.GetRequiredValue(name)) is { } fault)
            {
                await run.Error.WriteLineAsync($"person: {fault}");
                return CommandLine.BadUsage;
            }

            var wanted = run.Parsed.GetValue(role);
            if (await run.People.FindAsync(run.Parsed.GetRequiredValue(name)) is { } known && known.Role != wanted)
            {
                return await run.FailAsync(
                    $"there is somebody named {known.Name} already, {RoleText.Of(known.Role)}; give them that role with: person role {known.Name} --role {RoleText.Of(wanted)}, or a new link with: person link {known.Name}");
            }

            var person = await run.People.AddAsync(run.Parsed.GetRequiredValue(name), wanted, token);
            return await run.PrintLinkAsync(person, token);
        });
    }

    private static Command Link()
    {
        var name = Name();
        return Verb("link", "Print a new sign-in link for somebody; it works once.", [name], (run, token) => run.OfPersonAsync(name, person => run.PrintLinkAsync(person, token)));
    }

    private static Command List() => Verb("list", "List everybody who signs in.", [], async (run, token) =>
    {
        var all = await run.Setup.AllAsync(token);
        foreach (var person in all)
            await run.Output.WriteLineAsync($"{RoleText.Of(person.Role),-9} {person.Name}: signed in on {person.Sessions}, {person.OpenLinks} links wait{(person.SeenAt is { } at ? $", last seen {MomentTexts.Utc(at)}" : "")}");
        if (all.Count == 0)
            await run.Output.WriteLineAsync("nobody yet; add somebody with: person add NAME --role business");
        return CommandLine.Done;
    });

    private static Command Show()
    {
        var name = Name();
        return Verb("show", "Show somebody's links, sessions and passkeys; a link with the number that revoke-link takes.", [name], (run, token) => run.OfPersonAsync(name, async person =>
        {
            var full = (await run.Setup.FindAsync(person.Id, token))!;
            await run.Output.WriteLineAsync($"{full.Name}, {RoleText.Of(full.Role)}, reads temperatures in {UnitText.Of(full.Unit)}");
            foreach (var link in full.Links)
                await run.Output.WriteLineAsync($"link     {link.Id}: {(link.UsedAt is { } used ? $"used {MomentTexts.Utc(used)}" : $"waits until {MomentTexts.Utc(link.ExpiresAt)}")}");
            foreach (var session in full.Sessions)
                await run.Output.WriteLineAsync($"session  {session.Device}: since {MomentTexts.Utc(session.CreatedAt)}, last seen {MomentTexts.Utc(session.SeenAt)}, by {session.EnteredBy}");
            foreach (var passkey in full.Passkeys)
                await run.Output.WriteLineAsync($"passkey  {passkey.Device}: since {MomentTexts.Utc(passkey.CreatedAt)}");
            return CommandLine.Done;
        }));
    }

    private static Command SetRole()
    {
        var (name, role) = (Name(), RoleOption());
        return Verb("role", "Give somebody another role; their sign-ins end at once.", [name, role], (run, token) => run.OfPersonAsync(
            name, async person => await run.SayAsync(await run.People.SetRoleAsync(person.Id, run.Parsed.GetValue(role), token), $"{person.Name} is {RoleText.Of(run.Parsed.GetValue(role))} now")));
    }

    private static Command Rename()
    {
        var name = Name();
        var to = new Argument<string>("NEW") { Description = "The name from now on." };
        return Verb("rename", "Give somebody another name.", [name, to], (run, token) => run.OfPersonAsync(
            name, async person => await run.SayAsync(await run.People.RenameAsync(person.Id, run.Parsed.GetRequiredValue(to), token), $"{person.Name} is called {run.Parsed.GetValue(to)} now")));
    }

    private static Command SetUnit()
    {
        var name = Name();
        var unit = new Option<TemperatureUnit>("--in")
        {
            Description = "celsius, fahrenheit or both.",
            HelpName = "UNIT",
            Required = true,
            CustomParser = result =>
            {
                if (!UnitText.TryParse(Parsing.Text(result), out var known))
                    result.AddError($"--in is '{Parsing.Text(result)}', expected celsius, fahrenheit or both");
                return known;
            },
        };
        return Verb("unit", "Set in which unit somebody reads temperatures, on pages and in alerts; they can choose it themselves.", [name, unit], (run, token) => run.OfPersonAsync(
            name, async person => await run.SayAsync(
                await run.Setup.SetUnitAsync(person.Id, run.Parsed.GetValue(unit), token), $"{person.Name} reads temperatures in {UnitText.Of(run.Parsed.GetValue(unit))} now")));
    }

    private static Command Remove()
    {
        var name = Name();
        return Verb("remove", "Remove somebody: links, sign-ins, passkeys and devices end at once; walks, checks and decisions stay. See also erase.", [name], (run, token) => run.OfPersonAsync(
            name, async person => await run.SayAsync(await run.People.RemoveAsync(person.Id, token), $"{person.Name} is removed")));
    }

    private static Command RevokeLink()
    {
        var (name, link) = (Name(), new Argument<int>("LINK") { Description = "The link's number, as show prints it." });
        return Verb("revoke-link", "Revoke a sign-in link; whoever came in by it is out at once.", [name, link], (run, token) => run.OfPersonAsync(
            name, async person => await run.SayAsync(await run.Setup.RevokeLinkAsync(person.Id, run.Parsed.GetValue(link), token), "revoked")));
    }

    private static Command EndSessions()
    {
        var name = Name();
        return Verb("sign-out", "Sign somebody out everywhere: sessions and alerts to their phones end at once; passkeys stay.", [name], (run, token) => run.OfPersonAsync(name, async person =>
        {
            var ended = await run.Setup.EndSessionsAsync(person.Id, null, token);
            await run.Output.WriteLineAsync($"{person.Name} is signed out everywhere: {ended.Sessions} sessions and the alerts on {ended.Devices} devices are ended");
            var full = (await run.Setup.FindAsync(person.Id, token))!;
            return await run.SayAsync(null, $"still able to sign in: {full.Passkeys.Count} passkeys and {full.Links.Count(link => link.UsedAt is null)} links that wait; to end these too: person lost-phone {person.Name}");
        }));
    }

    private static Command LostPhone()
    {
        var name = Name();
        return Verb("lost-phone", "End all that lets anybody in as somebody: sessions, links, passkeys and alerts to their phones.", [name], (run, token) => run.OfPersonAsync(name, async person =>
        {
            var ended = await run.Setup.EndAllAsync(person.Id, null, token);
            return await run.SayAsync(
                null, $"ended for {person.Name}: {ended.Sessions} sessions, {ended.Links} links that waited, {ended.Passkeys} passkeys, alerts on {ended.Devices} devices; let them in again with: person link {person.Name}");
        }));
    }

    private static Command Export()
    {
        var (name, to) = (Name(), new Argument<string>("TO") { Description = "New file to write, JSON." });
        return Verb("export", "Write all that is kept of somebody into a file.", [name, to], (run, token) => run.OfPersonAsync(name, async person =>
        {
            var file = Path.GetFullPath(run.Parsed.GetRequiredValue(to));
            if (File.Exists(file))
                return await run.FailAsync($"{file} is there already; name a new file");
            await File.WriteAllTextAsync(file, await run.Services.GetRequiredService<PersonalData>().ExportAsync(person.Id, token), token);
            return await run.SayAsync(null, $"{file}: all that is kept of {person.Name}; it is for them alone");
        }));
    }

    private static Command Erase()
    {
        var name = Name();
        var yes = new Option<bool>("--yes") { Description = "Do it; without it the command only says what it would do." };
        return Verb("erase", "Erase somebody's data. It cannot be taken back; export it first if they want it.", [name, yes], (run, token) => run.OfPersonAsync(name, async person =>
        {
            if (!run.Parsed.GetValue(yes))
            {
                await run.Output.WriteLineAsync($"Erasing {person.Name} would do this:");
                foreach (var table in PersonalData.Tables.Where(t => t.Exported.Length > 0))
                    await run.Output.WriteLineAsync($"  {table.Exported,-14} would be {table.Erasing}");
                return await run.FailAsync($"nothing was erased; repeat with --yes to erase {person.Name}");
            }

            var (kept, fault) = await run.Data.EraseAsync(person.Id, token);
            if (fault is not null)
                return await run.FailAsync(fault);
            await run.Output.WriteLineAsync($"{person.Name} is erased.");
            foreach (var line in kept)
                await run.Output.WriteLineAsync($"  {line}");
            await run.Output.WriteLineAsync("  notes that people wrote are kept as they are; look through those of walks and checks for names");
            await run.Output.WriteLineAsync("  backups, and the copies of the registry in registry-copies, still hold it all; delete those from before, or erase again after a restore");
            return CommandLine.Done;
        }));
    }

    private static Command OwnerList() => Verb("list", "List the owners' links that have not ended.", [], async (run, token) =>
    {
        var owners = await run.Setup.OwnersAsync(token);
        foreach (var link in owners.Links)
            await run.Output.WriteLineAsync($"{link.Id}  {link.Dog}: made {MomentTexts.Utc(link.CreatedAt)}, until {MomentTexts.Utc(link.ExpiresAt)}");
        if (owners.Links.Count == 0)
            await run.Output.WriteLineAsync("no owner has a link");
        return CommandLine.Done;
    });

    private static Command OwnerLink()
    {
        var dog = new Argument<string>("DOG") { Description = "The dog's name, e.g. Pickle." };
        var days = new Option<int>("--days") { Description = $"How long it lasts, 1 to {PeopleSetup.MostOwnerDays}; 30 unless given.", HelpName = "DAYS", DefaultValueFactory = _ => 30 };
        return Verb("link", "Print a new link for a dog's owner.", [dog, days], async (run, token) =>
        {
            var dogs = (await run.Setup.OwnersAsync(token)).Dogs;
            if (dogs.Where(d => d.Name == run.Parsed.GetValue(dog)).ToList() is not [var found])
                return await run.FailAsync($"there is no one dog '{run.Parsed.GetValue(dog)}'; known: {(dogs.Count == 0 ? "none, only the demo has dogs so far" : string.Join(", ", dogs.Select(d => d.Name)))}");
            var (link, fault) = await run.Setup.NewOwnerLinkAsync(found.Id, run.Parsed.GetValue(days), token);
            return await run.SayAsync(fault, $"Whoever has this link can read the day of {found.Name}'s walk for {run.Parsed.GetValue(days)} days:{Environment.NewLine}{link}");
        });
    }

    private static Command OwnerRevoke()
    {
        var link = new Argument<int>("LINK") { Description = "The link's number, as list prints it." };
        return Verb("revoke", "Revoke an owner's link.", [link], async (run, token) => await run.SayAsync(await run.Setup.RevokeOwnerLinkAsync(run.Parsed.GetValue(link), token), "revoked"));
    }

    private static Argument<string> Name() => new("NAME") { Description = "Name people see, e.g. Ines." };

    private static Option<Role> RoleOption() => new("--role")
    {
        Description = "What they may do: business, walker or analyst.",
        HelpName = "ROLE",
        Required = true,
        CustomParser = result =>
        {
            if (!RoleText.TryParse(Parsing.Text(result), out var role))
                result.AddError($"--role is '{Parsing.Text(result)}', expected business, walker or analyst");
            return role;
        },
    };

    private static Command Verb(string name, string description, Symbol[] symbols, Func<Run, CancellationToken, Task<int>> act)
    {
        var verb = new Command(name, description);
        foreach (var symbol in symbols)
        {
            if (symbol is Argument argument)
                verb.Arguments.Add(argument);
            else
                verb.Options.Add((Option)symbol);
        }

        Settings.AddTo(verb);
        verb.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(parsed, (services, token) => act(new Run(parsed, services), token), cancellationToken));
        return verb;
    }

    /// <summary>What a verb works with.</summary>
    private sealed record Run(ParseResult Parsed, IServiceProvider Services)
    {
        public TextWriter Output => Parsed.InvocationConfiguration.Output;

        public TextWriter Error => Parsed.InvocationConfiguration.Error;

        public PersonStore People => Services.GetRequiredService<PersonStore>();

        public PersonalData Data => Services.GetRequiredService<PersonalData>();

        public IPeopleSetup Setup => Services.GetRequiredService<IPeopleSetup>();

        public async Task<int> FailAsync(string fault)
        {
            await Error.WriteLineAsync($"person: {fault}");
            return CommandLine.Failed;
        }

        public async Task<int> SayAsync(string? fault, string done)
        {
            if (fault is not null)
                return await FailAsync(fault);
            await Output.WriteLineAsync(done);
            return CommandLine.Done;
        }

        public async Task<int> OfPersonAsync(Argument<string> name, Func<PersonRow, Task<int>> act) =>
            await People.FindAsync(Parsed.GetRequiredValue(name)) is { } person
                ? await act(person)
                : await FailAsync($"there is nobody named '{Parsed.GetValue(name)}'; see: person list");

        public async Task<int> PrintLinkAsync(PersonRow person, CancellationToken cancellationToken)
        {
            var link = await Setup.NewLinkAsync(person.Id, cancellationToken);
            await Output.WriteLineAsync($"{person.Name}, {RoleText.Of(person.Role)}. This link signs in once, in one browser, within {People.LinkLife.TotalDays:0.#} days:");
            await Output.WriteLineAsync(link);
            if (new Uri(link).IsLoopback)
                await Output.WriteLineAsync("It opens on this machine only; for somebody's phone set Access:PublicUrl to the address it reaches, e.g. https://walks.example");
            return CommandLine.Done;
        }
    }
}
