using System.CommandLine;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Names;
using PavementWatch.Server.Access;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Commands;

/// <summary>People from the command line.</summary>
internal static class UserCommands
{
    public static Command Create() => new("user", "People who sign in.") { UserAdd() };

    private static Command UserAdd()
    {
        var name = new Argument<string>("NAME") { Description = "Name people see, e.g. Ines." };
        var role = new Option<Role>("--role")
        {
            Description = "What they may do: business, walker or analyst.",
            HelpName = "ROLE",
            Required = true,
            CustomParser = result =>
            {
                if (Enum.TryParse<Role>(Parsing.Text(result), ignoreCase: true, out var read) && Enum.IsDefined(read) && !char.IsDigit(Parsing.Text(result)[0]))
                    return read;
                result.AddError($"--role is '{Parsing.Text(result)}', expected business, walker or analyst");
                return default;
            },
        };
        var add = new Command("add", "Add somebody, or give them another role, and print a sign-in link.") { name, role };
        Settings.AddTo(add);
        add.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                if (NameRule.Fault("name", parsed.GetRequiredValue(name)) is { } fault)
                {
                    await parsed.InvocationConfiguration.Error.WriteLineAsync($"user: {fault}");
                    return CommandLine.BadUsage;
                }

                var people = services.GetRequiredService<People>();
                var person = await people.AddAsync(parsed.GetRequiredValue(name), parsed.GetValue(role), token);
                var key = await people.NewSignInTokenAsync(person.Id, token);
                var access = services.GetRequiredService<IOptions<AccessOptions>>().Value;
                var output = parsed.InvocationConfiguration.Output;
                await output.WriteLineAsync($"{person.Name}, {person.Role.ToString().ToLowerInvariant()}. Whoever opens this link within {access.SignInLinkLife.TotalDays:0.#} days is signed in as {person.Name}:");
                await output.WriteLineAsync($"{services.GetRequiredService<PublicAddress>().Text}/enter/{key}");
                return CommandLine.Done;
            },
            cancellationToken));
        return add;
    }
}
