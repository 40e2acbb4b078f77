using System.Globalization;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>
/// Days in the life of the gateway's and the server's real programs, many times faster than life, with everything going
/// wrong that can: kills, lost networks and answers, full disks, a bad cable, clocks that are set, push services in trouble.
/// At the end every reading the gateway said it made is in the server's store once, with every value, or is missing for a
/// reason it can name; what the stored readings and the estimates on the cards call for was told once; no page was cooler than
/// the newest live reading; and the last hour of each day's curve was what the store has.
/// </summary>
/// <remarks>
/// Two minutes of ours, ten hours of theirs, unless PAVEMENTWATCH_SOAK_MINUTES says more; PAVEMENTWATCH_SOAK_SEED draws other mishaps.
/// </remarks>
[Collection(nameof(FastTowns))]
public sealed class SoakTests
{
    private const int UsualSeed = 20260710;

    [Fact]
    public async Task Whatever_happens_every_reading_is_stored_once_every_alert_told_once_and_no_page_cooler_than_the_ground()
    {
        var (minutes, seed) = (Set("PAVEMENTWATCH_SOAK_MINUTES", 2), Set("PAVEMENTWATCH_SOAK_SEED", UsualSeed));
        var span = TimeSpan.FromMinutes(minutes) * SoakTown.Speed;
        var mishaps = Mishap.Draw(new Random(seed), span);
        await using var town = new SoakTown(span);
        if (town.Disk.WhyNot is { } whyNot)
        {
            mishaps.RemoveAll(mishap => mishap.Kind is MishapKind.DiskFull or MishapKind.ServerDiskFull);
            TestContext.Current.AddWarning($"no disk was filled: {whyNot}");
        }

        await town.StartAsync();
        foreach (var mishap in mishaps)
        {
            await UntilAsync(town, mishap.At);
            await town.HappenAsync(mishap);
        }

        await UntilAsync(town, span);
        // On a busy machine less comes soon enough to be compared: it goes on until there is enough, or for three times as long.
        while (!IsEnough(town.Pages, 50 * minutes) && town.Passed < 3 * span)
            await UntilAsync(town, town.Passed + TimeSpan.FromMinutes(5));
        await town.DrainAsync();

        var counted = town.Counted();
        var stored = await town.StoredAsync();
        var reckoning = Reckoning.Of(town.Journal, [.. stored.Select(row => row.Reading)], counted.GetValueOrDefault("Duplicate"), town.KeptAtGateway(), town.Undone);
        var audit = town.Audited(stored);
        var pages = town.Pages;
        var told = string.Join(Environment.NewLine, [
            $"seed {seed}, {minutes} minutes: {reckoning}",
            $"the gateway counted {string.Join(", ", counted.Select(count => $"{count.Key} {count.Value}"))}; the server wrote {town.KeptOut.Count} lines about what it kept out, first: {town.KeptOut.FirstOrDefault()}",
            $"what happened: {string.Join(", ", Enum.GetValues<MishapKind>().Select(kind => $"{town.Happened.GetValueOrDefault(kind)} × {kind}"))}",
            $"soak: {reckoning.Produced} readings, {reckoning.Lost} lost, {reckoning.Doubled} doubled; {audit.CalledFor} hot, {audit.SoonCalledFor} soon and {audit.EstimatedCalledFor} estimated called for, {audit.Told} told, {audit.Missed.Count} alerts missed, {audit.Doubled.Count} doubled; {pages.Compared} cards and {pages.Steps} steps of days compared, {pages.Cooler.Count} moments cooler, {pages.OffCurve.Count} off the curve",
        ]);
        TestContext.Current.TestOutputHelper?.WriteLine(told);
        var errors = town.Journal.Errors.Where(line => !line.Contains("new readings wait in memory meanwhile", StringComparison.Ordinal)).Concat(town.ServerErrors).ToList();
        List<string> faults = [.. reckoning.Faults, .. audit.Missed, .. audit.Doubled, .. pages.Cooler, .. pages.OffCurve];
        if (faults.Count + errors.Count > 0)
        {
            var log = Path.Combine(Path.GetTempPath(), $"pavementwatch-soak-{seed}.log");
            await File.WriteAllLinesAsync(log, town.Said, TestContext.Current.CancellationToken);
            Assert.Fail(string.Join(Environment.NewLine, [
                told, .. mishaps.Select(mishap => $"  {mishap}"), $"{faults.Count} faults:", .. faults.Take(60),
                $"{errors.Count} errors:", .. errors.Take(20), $"what both programs said: {log}",
            ]));
        }

        Assert.True(reckoning.Produced > minutes * 60 && audit.CalledFor + audit.EstimatedCalledFor > 0 && IsEnough(pages, 10 * minutes), $"too little happened to tell anything: {told}");
        if (seed == UsualSeed)
            Assert.True(Enum.GetValues<MishapKind>().Except(town.Happened.Keys).All(IsADisk), $"not everything happened: {told}");
        bool IsADisk(MishapKind kind) => kind is MishapKind.DiskFull or MishapKind.ServerDiskFull && town.Disk.WhyNot is not null;
    }

    private static bool IsEnough(PageWatch pages, int least) => pages.Compared > least && pages.Steps > least;

    private static async Task UntilAsync(SoakTown town, TimeSpan passed)
    {
        if (passed > town.Passed)
            await Task.Delay((passed - town.Passed) / SoakTown.Speed, TimeProvider.System, TestContext.Current.CancellationToken);
    }

    private static int Set(string name, int usual) =>
        int.TryParse(Environment.GetEnvironmentVariable(name), NumberStyles.None, CultureInfo.InvariantCulture, out var set) ? set : usual;
}

/// <summary>Towns that live 300 times faster than life, one at a time beside the other tests: mostly they wait.</summary>
[CollectionDefinition(nameof(FastTowns))]
public sealed class FastTowns;
