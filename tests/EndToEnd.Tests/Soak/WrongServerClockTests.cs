using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>Real programs while the server's clock is wrong: warnings go out by the readings' age, nobody is signed out, nothing is lost.</summary>
[Collection(nameof(FastTowns))]
public sealed class WrongServerClockTests
{
    [Theory]
    [InlineData(-2 * 60, "two hours behind: readings are dated far ahead and stay at the gateway")]
    [InlineData(-10, "ten minutes behind")]
    [InlineData(401 * 24 * 60, "over 400 days ahead: readings are dated too far back and stay at the gateway")]
    public async Task Warnings_go_out_nothing_is_lost_and_nobody_is_signed_out(int minutes, string what)
    {
        await using var town = new SoakTown(TimeSpan.FromHours(12));
        if (town.Disk.WhyNot is { } whyNot)
            TestContext.Current.AddWarning($"disks are the machine's own: {whyNot}");
        await town.StartAsync();
        await Patience.UntilAsync(() => town.Pages.Compared > 0, () => $"{what}: no page shows a reading");
        var told = town.Phone.Messages.Count;

        await town.HappenAsync(new Mishap(town.Passed, MishapKind.ServerClockStep, false, TimeSpan.FromMinutes(minutes), 0));
        // The simulated day passes one limit after the other before its noon.
        await Patience.UntilAsync(() => town.Phone.Messages.Count > told, () => $"{what}: no warning went out");
        var answered = town.Pages.Answered;
        await Patience.UntilAsync(() => town.Pages.Answered > answered, () => $"{what}: the walker is no longer signed in");

        await town.HappenAsync(new Mishap(town.Passed, MishapKind.ServerClockStep, true, TimeSpan.FromMinutes(-minutes), 0));
        await town.DrainAsync();
        var stored = await town.StoredAsync();
        var reckoning = Reckoning.Of(
            town.Journal, [.. stored.Select(row => row.Reading)], town.Counted().GetValueOrDefault("Duplicate"), town.KeptAtGateway(), town.Undone);
        Assert.True(reckoning.Produced > 0);
        List<string> faults = [.. reckoning.Faults, .. town.Pages.Cooler, .. town.Pages.OffCurve, .. town.ServerErrors];
        Assert.True(faults.Count == 0, string.Join(Environment.NewLine, [$"{what}: {faults.Count} faults", .. faults.Take(20)]));
    }
}
