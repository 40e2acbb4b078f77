using System.CommandLine;
using PavementWatch.Server.Gateways;

namespace PavementWatch.Server.Commands;

/// <summary><c>gateway code</c>: a single-use code with which a gateway fetches its credentials.</summary>
internal static class GatewayCodeCommand
{
    public static Command Create()
    {
        var id = Parsing.Gateway();
        var spots = Parsing.Spots("Spots it measures once the code is used, joined by commas; needed the first time.");
        var code = new Command("code", "Make a single-use code, good for 30 minutes, with which a gateway fetches its credentials. When the code is used, its password from before ends, and spots that another gateway has are taken from that one.")
        {
            id, spots,
        };
        Settings.AddTo(code);
        code.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
                switch (await services.GetRequiredService<EnrolmentCodeStore>().NewCodeAsync(parsed.GetValue(id), parsed.GetValue(spots), token))
                {
                    case CodeOutcome.Made made:
                        var note = services.GetRequiredService<EnrolmentNote>();
                        await output.WriteLineAsync($"code      {made.Code}, good once until {made.ExpiresAt.UtcDateTime:HH:mm} UTC");
                        await output.WriteLineAsync($"spots     {string.Join(", ", made.Spots.Select(s => s.Id.Value))}");
                        foreach (var spot in made.Moved)
                            await output.WriteLineAsync($"{spot.Coming}.");
                        await output.WriteLineAsync($"on the gateway, while this server runs:{Environment.NewLine}  {note.Command(made.Code)}");
                        if (note.Caution() is { } caution)
                            await error.WriteLineAsync($"gateway: {caution}");
                        return CommandLine.Done;
                    case CodeOutcome.Refused(var reason):
                        await error.WriteLineAsync($"gateway: {reason}");
                        return CommandLine.Failed;
                    case var other:
                        throw new InvalidOperationException($"no such outcome: {other}");
                }
            },
            cancellationToken));
        return code;
    }
}
