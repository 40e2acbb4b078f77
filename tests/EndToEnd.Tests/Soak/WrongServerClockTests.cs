using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>Real programs while the server's clock is wrong: warnings go out by the readings' age, nobody is signed out, nothing is lost.</summary>
[Collection(nameof(FastTowns))]
public sealed class WrongServerClockTests
{
    [Theory]
    [InlineData(-2 * 60, true, "two hours behind: readings are dated far ahead and stay at the gateway")]
    [InlineData(-10, false, "ten minutes behind")]
    [InlineData(401 * 24 * 60, true, "over 400 days ahead: readings are dated too far back and stay at the gateway")]
    public async Task Warnings_go_out_nothing_is_lost_and_nobody_is_signed_out(int minutes, bool isFar, string what)
    {
        await using var town = new SoakTown(TimeSpan.FromHours(12), tellsBusiness: true);
        if (town.Disk.WhyNot is { } whyNot)
            TestContext.Current.AddWarning($"disks are the machine's own: {whyNot}");
        await town.StartAsync();
        // Where answers take long, none of them can be held against a reading that is still of now.
        await Patience.UntilAsync(() => town.Pages.Answered > 0, () => $"{what}: no page answers");
        var told = town.Phone.Messages.Count;
        await Patience.UntilAsync(async () => await town.HealthAsync() == "Healthy", () => $"{what}: health complains from the beginning");

        await town.HappenAsync(new Mishap(town.Passed, MishapKind.ServerClockStep, false, TimeSpan.FromMinutes(minutes), 0));
        // The simulated day passes one limit after the other before its noon.
        await Patience.UntilAsync(() => town.Phone.Messages.Count > told, () => $"{what}: no warning went out");
        var answered = town.Pages.Answered;
        await Patience.UntilAsync(() => town.Pages.Answered > answered, () => $"{what}: the walker is no longer signed in");
        if (isFar)
        {
            await Patience.UntilAsync(() => town.Counted().GetValueOrDefault("PutOff") > 0, () => $"{what}: nothing stays at the gateway");
            await Patience.UntilAsync(async () => await town.HealthAsync() == "Unhealthy", () => $"{what}: health says nothing of the clocks");
            await Patience.UntilAsync(() => town.Phone.Notices.Any(IsOfClock), () => $"{what}: the business was told {string.Join('\n', town.Phone.Notices)}");
        }

        await town.HappenAsync(new Mishap(town.Passed, MishapKind.ServerClockStep, true, TimeSpan.FromMinutes(-minutes), 0));
        // What was put off is offered again once the clocks agree, by the gateway itself; and all hear that they do.
        await Patience.UntilAsync(() => town.KeptAtGateway().Count == 0, () => $"{what}: {town.KeptAtGateway().Count} readings stay at the gateway");
        await Patience.UntilAsync(async () => await town.HealthAsync() == "Healthy", () => $"{what}: health still complains");
        if (isFar)
            await Patience.UntilAsync(() => town.Phone.Notices.Count(IsOfClock) >= 2, () => $"{what}: the business heard of no end: {string.Join('\n', town.Phone.Notices)}");
        await town.DrainAsync();
        var stored = await town.StoredAsync();
        var reckoning = Reckoning.Of(
            town.Journal, [.. stored.Select(row => row.Reading)], town.Counted().GetValueOrDefault("Duplicate"), town.KeptAtGateway(), town.Undone);
        Assert.True(reckoning.Produced > 0);
        Assert.DoesNotContain(reckoning.Reasons.Keys, reason => reason.StartsWith("kept at the gateway", StringComparison.Ordinal));
        List<string> faults = [.. reckoning.Faults, .. town.Pages.Cooler, .. town.Pages.OffCurve, .. town.ServerErrors];
        Assert.True(faults.Count == 0, string.Join(Environment.NewLine, [$"{what}: {faults.Count} faults", .. faults.Take(20)]));
    }

    private static bool IsOfClock(string notice) => notice.Contains("clock.simulated", StringComparison.Ordinal);
}
