using System.CommandLine;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Checks;
using PavementWatch.Server.Checks;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Commands;

/// <summary>Hand-held checks from and to files.</summary>
internal static class CheckCommands
{
    public static Command Import()
    {
        var file = new Argument<string>("FILE")
        {
            Description = $"CSV with {CheckCsv.Header} (thermometer and what follows may be left out); time_local in place of time_utc for the spot's own clock, surface_fahrenheit in place of surface_celsius.",
        };
        var only = new Option<string?>("--spot") { Description = "Whose checks they are where the file has no column for it, e.g. north-gate-plaza.", HelpName = "ID" };
        var checks = new Command("checks", "Take over hand-held checks, all of a file or nothing; those already there stay as they are.") { file, only };
        Settings.AddTo(checks);
        checks.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                if (!TrySpot(services, parsed, parsed.GetValue(only), out var spot))
                    return CommandLine.Failed;
                using var reader = Parsing.OpenText(parsed.GetRequiredValue(file));
                var outcome = await services.GetRequiredService<ISpotChecks>().ImportAsync(reader, spot, by: null, token);
                if (outcome is not ImportedChecks imported)
                {
                    await parsed.InvocationConfiguration.Error.WriteLineAsync(
                        $"import: {parsed.GetRequiredValue(file)}, {((RefusedChecks)outcome).Fault}. Nothing was stored.");
                    return CommandLine.Failed;
                }

                foreach (var remark in imported.Remarks)
                    await parsed.InvocationConfiguration.Error.WriteLineAsync($"import: {remark}");
                await parsed.InvocationConfiguration.Output.WriteLineAsync(
                    $"{imported.Read} checks read, {imported.Added} new, {imported.Read - imported.Added} there already");
                return CommandLine.Done;
            },
            cancellationToken));
        return checks;
    }

    public static Command Export()
    {
        var only = new Option<string?>("--spot") { Description = "This spot only, e.g. north-gate-plaza.", HelpName = "ID" };
        var into = new Option<string?>("--out") { Description = "File to write; the screen unless given.", HelpName = "FILE" };
        var checks = new Command("checks", "Write hand-held checks as CSV, as import reads them.") { only, into };
        Settings.AddTo(checks);
        checks.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                if (!TrySpot(services, parsed, parsed.GetValue(only), out var spot))
                    return CommandLine.Failed;
                await using var writer = parsed.GetValue(into) is { } path ? File.CreateText(path) : null;
                var count = await services.GetRequiredService<ISpotChecks>().ExportAsync(
                    writer ?? parsed.InvocationConfiguration.Output, spot, token);
                await parsed.InvocationConfiguration.Error.WriteLineAsync($"export: {count} checks");
                return CommandLine.Done;
            },
            cancellationToken));
        return checks;
    }

    private static bool TrySpot(IServiceProvider services, ParseResult parsed, string? name, out SpotId? spot)
    {
        spot = null;
        if (name is null)
            return true;
        var catalogue = services.GetRequiredService<SpotCatalogue>();
        if (SpotId.TryParse(name, out var id) && catalogue.Find(id) is not null)
        {
            spot = id;
            return true;
        }

        parsed.InvocationConfiguration.Error.WriteLine(
            $"there is no spot '{name}'; known: {string.Join(", ", catalogue.All.Select(s => s.Id))}");
        return false;
    }
}
