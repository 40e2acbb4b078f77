using System.Buffers.Text;
using System.CommandLine;
using System.Security.Cryptography;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Names;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Access;
using PavementWatch.Server.Registry;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Commands;

/// <summary>People, spots and gateways from the command line.</summary>
internal static class RegistryCommands
{
    public static void AddTo(RootCommand root)
    {
        root.Subcommands.Add(new Command("user", "People who sign in.") { UserAdd() });
        root.Subcommands.Add(new Command("spot", "Places on the ground.") { SpotAdd() });
        root.Subcommands.Add(new Command("gateway", "Gateways and what they may report on.") { GatewayAdd(), GatewayCodeCommand.Create() });
    }

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

    private static Command SpotAdd()
    {
        var id = new Argument<string>("ID") { Description = "Its name on the wire: a-z, 0-9 and '-', e.g. north-gate-plaza." };
        var name = new Option<string>("--name") { Description = "Its name for people, e.g. \"North Gate plaza\".", HelpName = "NAME", Required = true };
        var surface = Parsing.Surface();
        var latitude = Parsing.Degrees("--latitude", "North positive", 90);
        var longitude = Parsing.Degrees("--longitude", "East positive", 180);
        var zone = new Option<string>("--time-zone") { Description = "IANA name of the time zone it lies in, e.g. America/Chicago.", HelpName = "ZONE", Required = true };
        var site = new Option<string>("--site") { Description = "The place walkers think of, e.g. \"North Gate\"; its spots lend each other their air.", HelpName = "NAME" };
        var limit = Parsing.Number("--limit", $"From here it is too hot; {Spot.DefaultLimitCelsius} °C unless given", "CELSIUS", 30, 70);
        var emissivity = Parsing.Number("--emissivity", "Of this very surface; the kind's unless given", "FRACTION", 0.5, 1);
        var radius = Parsing.Number("--radius", "How near a walker must be to hear of it; 800 m unless given", "METERS", 10, 50_000);
        var add = new Command("add", "Add a spot after the others. A running server watches it within a minute.")
        {
            id, name, surface, latitude, longitude, zone, site, limit, emissivity, radius,
        };
        Settings.AddTo(add);
        add.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
                if (!SpotId.TryParse(parsed.GetRequiredValue(id), out var spotId))
                {
                    await error.WriteLineAsync($"spot: '{parsed.GetRequiredValue(id)}' is not a name, expected 1 to {SpotId.MaxLength} of a-z, 0-9 and '-', beginning with a letter or digit");
                    return CommandLine.BadUsage;
                }

                var spot = new Spot(
                    spotId, parsed.GetRequiredValue(name), parsed.GetValue(surface), parsed.GetValue(latitude), parsed.GetValue(longitude),
                    parsed.GetRequiredValue(zone))
                {
                    Site = parsed.GetValue(site) ?? "",
                    LimitCelsius = parsed.GetValue(limit) ?? Spot.DefaultLimitCelsius,
                    EmissivityFraction = parsed.GetValue(emissivity),
                    RadiusMeters = parsed.GetValue(radius) ?? 800,
                };
                if (SpotBook.Fault(spot) is { } fault)
                {
                    await error.WriteLineAsync($"spot: {fault}");
                    return CommandLine.BadUsage;
                }

                if (!await services.GetRequiredService<SpotBook>().AddSpotAsync(spot, token))
                {
                    await error.WriteLineAsync($"spot: there is a spot '{spotId}' already; choose another name");
                    return CommandLine.Failed;
                }

                await output.WriteLineAsync($"{spotId}: {spot.Name}, {SurfaceKinds.Slug(spot.Surface)}, too hot from {spot.LimitCelsius:0.#} °C");
                return CommandLine.Done;
            },
            cancellationToken));
        return add;
    }

    private static Command GatewayAdd()
    {
        var id = Parsing.Gateway();
        var spots = Parsing.Spots("Spots it measures, joined by commas.", required: true);
        var add = new Command("add", "Add a gateway, or give it a new password and other spots. The password is printed once and kept as a hash only.")
        {
            id, spots,
        };
        Settings.AddTo(add);
        add.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
                var (gateway, wanted) = (parsed.GetValue(id), parsed.GetRequiredValue(spots)!);
                var catalogue = services.GetRequiredService<SpotCatalogue>();
                if (wanted.Where(spot => catalogue.Find(spot) is null).Select(spot => spot.Value).FirstOrDefault() is { } unknown)
                {
                    await error.WriteLineAsync($"gateway: there is no spot '{unknown}'; add it first with: spot add {unknown}");
                    return CommandLine.Failed;
                }

                var secret = Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(24));
                await services.GetRequiredService<SpotBook>().SetGatewayAsync(gateway, secret, wanted, token);
                await output.WriteLineAsync($"user      {gateway}");
                await output.WriteLineAsync($"password  {secret}");
                await output.WriteLineAsync("Write them into the gateway's settings now; the password is not shown again.");
                return CommandLine.Done;
            },
            cancellationToken));
        return add;
    }
}
