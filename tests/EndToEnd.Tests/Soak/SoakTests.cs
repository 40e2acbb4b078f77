using System.Globalization;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>
/// Days in the life of the gateway's and the server's real programs, many times faster than life, with everything
/// going wrong that can: kills, lost networks and answers, a full disk, a bad cable, clocks that are set. At the end every
/// reading the gateway said it made is in the server's store once, with every value, or is missing for a reason it can name.
/// </summary>
/// <remarks>
/// Two days unless PAVEMENTWATCH_SOAK_DAYS says more (two weeks take about five minutes); PAVEMENTWATCH_SOAK_SEED
/// draws other mishaps.
/// </remarks>
[Collection(nameof(SoakAlone))]
public sealed class SoakTests
{
    private const int UsualSeed = 20260710;

    [Fact]
    public async Task Whatever_happens_every_reading_made_is_in_the_store_once_or_missing_for_a_named_reason()
    {
        var (days, seed) = (Set("PAVEMENTWATCH_SOAK_DAYS", 2), Set("PAVEMENTWATCH_SOAK_SEED", UsualSeed));
        var mishaps = Mishap.Draw(new Random(seed), TimeSpan.FromDays(days));
        await using var town = new SoakTown(days);
        if (town.Disk.WhyNot is { } whyNot)
        {
            mishaps.RemoveAll(mishap => mishap.Kind == MishapKind.DiskFull);
            TestContext.Current.AddWarning($"no disk was filled: {whyNot}");
        }

        await town.StartAsync();
        foreach (var mishap in mishaps)
        {
            await UntilAsync(town, mishap.At);
            await town.HappenAsync(mishap);
        }

        await UntilAsync(town, TimeSpan.FromDays(days));
        await town.DrainAsync();

        var counted = town.Counted();
        var reckoning = Reckoning.Of(town.Journal, await town.StoredAsync(), counted.GetValueOrDefault("Duplicate"), town.KeptAtGateway());
        var told = string.Join(Environment.NewLine, [
            $"seed {seed}, {days} days: {reckoning}",
            $"the gateway counted {string.Join(", ", counted.Select(count => $"{count.Key} {count.Value}"))}; the server wrote {town.KeptOut.Count} lines about what it kept out, first: {town.KeptOut.FirstOrDefault()}",
            .. mishaps.GroupBy(mishap => (mishap.Kind, mishap.Ends)).Where(group => !group.Key.Ends).Select(group => $"  {group.Count()} × {group.Key.Kind}"),
        ]);
        TestContext.Current.TestOutputHelper?.WriteLine(told);
        var errors = town.Journal.Errors.Where(line => !line.Contains("new readings wait in memory meanwhile", StringComparison.Ordinal)).Concat(town.ServerErrors).ToList();
        if (reckoning.Faults.Count + errors.Count > 0)
        {
            var log = Path.Combine(Path.GetTempPath(), $"pavementwatch-soak-{seed}.log");
            await File.WriteAllLinesAsync(log, town.Said, TestContext.Current.CancellationToken);
            Assert.Fail(string.Join(Environment.NewLine, [
                told, .. mishaps.Select(mishap => $"  {mishap}"), $"{reckoning.Faults.Count} faults:", .. reckoning.Faults.Take(40),
                $"{errors.Count} errors:", .. errors.Take(20), $"what both programs said: {log}",
            ]));
        }

        Assert.True(reckoning.Produced > days * 24, $"too little happened to tell anything: {told}");
    }

    private static async Task UntilAsync(SoakTown town, TimeSpan passed)
    {
        if (passed > town.Passed)
            await Task.Delay((passed - town.Passed) / SoakTown.Speed, TimeProvider.System, TestContext.Current.CancellationToken);
    }

    private static int Set(string name, int usual) =>
        int.TryParse(Environment.GetEnvironmentVariable(name), NumberStyles.None, CultureInfo.InvariantCulture, out var set) ? set : usual;
}

/// <summary>A simulated day takes 17 seconds: on a machine that does other things meanwhile, little would happen in it.</summary>
[CollectionDefinition(nameof(SoakAlone), DisableParallelization = true)]
public sealed class SoakAlone;
