using System.CommandLine;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Commands;

/// <summary>Readings from and to files.</summary>
internal static class ReadingsCommands
{
    private const int PerBatch = 5000;
    private const int TellEvery = 100_000;

    public static void AddTo(RootCommand root)
    {
        var import = new Command("import", "Take measurements over from a file: readings of a sensor, hand-held checks, or weather.");
        import.Subcommands.Add(Import());
        import.Subcommands.Add(CheckCommands.Import());
        import.Subcommands.Add(WeatherCommands.Import());
        var export = new Command("export", "Write what was measured to the screen or a file: readings of sensors, or hand-held checks.");
        export.Subcommands.Add(Export());
        export.Subcommands.Add(CheckCommands.Export());
        root.Subcommands.Add(import);
        root.Subcommands.Add(export);
    }

    private static Command Import()
    {
        var file = new Argument<string>("FILE") { Description = $"CSV with time_utc (like 2026-07-14T17:00:00Z) and any of {ReadingCsv.Header["time_utc,".Length..]}; of any size." };
        var spot = new Option<string>("--spot") { Description = "Whose readings they are, e.g. north-gate-plaza.", HelpName = "ID", Required = true };
        var readings = new Command(
            "readings", "Store readings of one spot; those already there stay as they are. Old readings make history and fits, never alerts.")
        {
            file, spot,
        };
        Settings.AddTo(readings);
        readings.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            (services, token) => ImportAsync(services, parsed, parsed.GetRequiredValue(file), parsed.GetRequiredValue(spot), token),
            cancellationToken));
        return readings;
    }

    private static Command Export()
    {
        var only = new Option<string?>("--spot") { Description = "This spot only, e.g. north-gate-plaza; else every one, with the spot in a first column.", HelpName = "ID" };
        var from = Parsing.Day("--from", "First UTC day; the beginning unless given.");
        var to = Parsing.Day("--to", "Last UTC day, inclusive; today unless given.");
        var into = new Option<string?>("--out") { Description = "File to write; the screen unless given.", HelpName = "FILE" };
        var readings = new Command("readings", "Write readings as CSV, as import reads them.") { only, from, to, into };
        Settings.AddTo(readings);
        readings.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                if (Spots(services, parsed, parsed.GetValue(only)) is not { } spots)
                    return CommandLine.Failed;
                var span = (From: Start(parsed.GetValue(from) ?? new DateOnly(2000, 1, 1)), To: Start((parsed.GetValue(to) ?? new DateOnly(2200, 1, 1)).AddDays(1)));
                var path = parsed.GetValue(into);
                await using var writer = path is null ? null : File.CreateText(path);
                var count = await ExportAsync(
                    services, spots, withSpot: parsed.GetValue(only) is null, span, writer ?? parsed.InvocationConfiguration.Output, token);
                await parsed.InvocationConfiguration.Error.WriteLineAsync($"export: {count} readings of {spots.Count} spots");
                return CommandLine.Done;
            },
            cancellationToken));
        return readings;
    }

    private static async Task<int> ImportAsync(
        IServiceProvider services, ParseResult parsed, string file, string name, CancellationToken cancellationToken)
    {
        var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
        if (Spots(services, parsed, name) is not [var spot])
            return CommandLine.Failed;
        var store = services.GetRequiredService<IReadingStore>();
        var received = services.GetRequiredService<TimeProvider>().GetUtcNow();
        var (read, fresh) = (0, 0);
        using var reader = Parsing.OpenText(file);
        try
        {
            foreach (var batch in ReadingCsv.Read(reader, spot.Id, remark => error.WriteLine($"import: {remark}")).Chunk(PerBatch))
            {
                var added = await store.AppendAsync([.. batch.Select(r => new StoredReading(r, received))], cancellationToken);
                (read, fresh) = (read + batch.Length, fresh + added.Count);
                if (read % TellEvery == 0)
                    await error.WriteLineAsync($"import: {read} read, {fresh} new, {100 * reader.BaseStream.Position / Math.Max(1, reader.BaseStream.Length)} % of the file");
            }
        }
        catch (IOException e)
        {
            await error.WriteLineAsync($"import: {file}, {e.Message}. {read} readings before it are stored; the same file may be imported again.");
            return CommandLine.Failed;
        }

        await output.WriteLineAsync($"{spot.Id}: {read} readings read, {fresh} new, {read - fresh} there already");
        return CommandLine.Done;
    }

    private static async Task<int> ExportAsync(
        IServiceProvider services, IReadOnlyList<Spot> spots, bool withSpot, (DateTimeOffset From, DateTimeOffset To) span,
        TextWriter writer, CancellationToken cancellationToken)
    {
        var store = services.GetRequiredService<IReadingStore>();
        await writer.WriteLineAsync((withSpot ? "spot," : "") + ReadingCsv.Header);
        var count = 0;
        foreach (var spot in spots)
        {
            // Month by month, so that years of minutes need not fit into memory.
            for (var from = span.From; from < span.To; from = from.AddMonths(1))
            {
                var to = from.AddMonths(1) < span.To ? from.AddMonths(1) : span.To;
                foreach (var stored in await store.RangeAsync(spot.Id, from, to, cancellationToken))
                {
                    await writer.WriteLineAsync((withSpot ? $"{spot.Id}," : "") + ReadingCsv.Line(stored.Reading));
                    count++;
                }
            }
        }

        return count;
    }

    /// <summary>The spot of that name, or all; <c>null</c> and a line on stderr when there is none.</summary>
    private static IReadOnlyList<Spot>? Spots(IServiceProvider services, ParseResult parsed, string? name)
    {
        var catalogue = services.GetRequiredService<SpotCatalogue>();
        if (name is null)
            return catalogue.All;
        if (SpotId.TryParse(name, out var id) && catalogue.Find(id) is { } spot)
            return [spot];
        var known = catalogue.All.Count == 0 ? "none; add it with: spot add" : string.Join(", ", catalogue.All.Select(s => s.Id));
        parsed.InvocationConfiguration.Error.WriteLine($"there is no spot '{name}'; known: {known}");
        return null;
    }

    private static DateTimeOffset Start(DateOnly day) => new(day.ToDateTime(TimeOnly.MinValue), TimeSpan.Zero);
}
