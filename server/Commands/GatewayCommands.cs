using System.Buffers.Text;
using System.CommandLine;
using System.Security.Cryptography;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Commands;

/// <summary>Gateways from the command line.</summary>
internal static class GatewayCommands
{
    public static Command Create() =>
        new("gateway", "Gateways and what they may report on.") { List(), Add(), GatewayCodeCommand.Create(), Edit(), Remove() };

    private static Command List()
    {
        var list = new Command("list", "Every gateway and the spots it measures.");
        Settings.AddTo(list);
        list.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, _) =>
            {
                var (output, gateways) = (parsed.InvocationConfiguration.Output, services.GetRequiredService<GatewayCatalogue>().All);
                foreach (var (gateway, spots) in gateways)
                    await output.WriteLineAsync($"{gateway}: {(spots.Count == 0 ? "no spots" : string.Join(", ", spots.Select(s => s.Id.Value)))}");
                if (gateways.Count == 0)
                    await output.WriteLineAsync("There are no gateways yet; make a code for one with: gateway code");
                return CommandLine.Done;
            },
            cancellationToken));
        return list;
    }

    private static Command Add()
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
                if (await UnknownAsync(services.GetRequiredService<SpotCatalogue>(), wanted, error))
                    return CommandLine.Failed;

                var secret = Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(24));
                var moved = await services.GetRequiredService<GatewayStore>().SetGatewayAsync(gateway, secret, wanted, token);
                await output.WriteLineAsync($"user      {gateway}");
                await output.WriteLineAsync($"password  {secret}");
                await output.WriteLineAsync("Write them into the gateway's settings now; the password is not shown again.");
                await SayMovedAsync(output, moved);
                return CommandLine.Done;
            },
            cancellationToken));
        return add;
    }

    private static Command Edit()
    {
        var id = Parsing.Gateway();
        var spots = Parsing.Spots("Spots it measures from now on, joined by commas.", required: true);
        var edit = new Command("edit", "Give a gateway other spots; its password stays. A spot that another gateway has is taken from that one. A running server disconnects once whichever lost something.") { id, spots };
        Settings.AddTo(edit);
        edit.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
                var (gateway, wanted) = (parsed.GetValue(id), parsed.GetRequiredValue(spots)!);
                var catalogue = services.GetRequiredService<SpotCatalogue>();
                if (!services.GetRequiredService<GatewayCatalogue>().All.ContainsKey(gateway))
                {
                    await error.WriteLineAsync(NoSuch(gateway));
                    return CommandLine.Failed;
                }

                if (await UnknownAsync(catalogue, wanted, error))
                    return CommandLine.Failed;
                var moved = await services.GetRequiredService<GatewayStore>().SetSpotsAsync(gateway, wanted, token);
                await output.WriteLineAsync($"{gateway}: {string.Join(", ", wanted.Select(s => s.Value))}");
                await SayMovedAsync(output, moved);
                return CommandLine.Done;
            },
            cancellationToken));
        return edit;
    }

    private static Command Remove()
    {
        var id = Parsing.Gateway();
        var remove = new Command("remove", "Remove a gateway: a running server disconnects it within seconds, and it signs in no more. What it sent stays.") { id };
        Settings.AddTo(remove);
        remove.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var gateway = parsed.GetValue(id);
                if (!await services.GetRequiredService<GatewayStore>().RemoveGatewayAsync(gateway, token))
                {
                    await parsed.InvocationConfiguration.Error.WriteLineAsync(NoSuch(gateway));
                    return CommandLine.Failed;
                }

                await parsed.InvocationConfiguration.Output.WriteLineAsync($"{gateway} is removed. What it sent is kept; its spots are estimated until another gateway measures them.");
                return CommandLine.Done;
            },
            cancellationToken));
        return remove;
    }

    /// <summary>Says which spots were another gateway's.</summary>
    public static async Task SayMovedAsync(TextWriter output, IReadOnlyList<MovedSpot> moved)
    {
        foreach (var spot in moved)
            await output.WriteLineAsync($"{spot}.");
    }

    private static string NoSuch(GatewayId gateway) => $"gateway: there is no gateway '{gateway}'; see them with: gateway list";

    private static async Task<bool> UnknownAsync(SpotCatalogue catalogue, IReadOnlyList<SpotId> wanted, TextWriter error)
    {
        if (wanted.Where(spot => catalogue.Find(spot) is null).Select(spot => spot.Value).FirstOrDefault() is not { } unknown)
            return false;
        await error.WriteLineAsync($"gateway: there is no spot '{unknown}'; add it first with: spot add {unknown}");
        return true;
    }
}
