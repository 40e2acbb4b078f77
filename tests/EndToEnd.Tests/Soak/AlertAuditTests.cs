using PavementWatch.Core.Alerts;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;

namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>What the audit of a soak finds, on stories of a few readings.</summary>
public sealed class AlertAuditTests
{
    private static readonly SpotId Plaza = SpotId.Parse("simulated-plaza");

    private static DateTimeOffset At(double minutes) => new DateTimeOffset(2026, 7, 10, 9, 0, 0, TimeSpan.Zero).AddMinutes(minutes);

    [Theory]
    [InlineData("told of heat as it came", 1, 0, AlertReason.ReadingsOverLimit, 40, true)]
    [InlineData("told only as soon too hot", 1, 1, AlertReason.TrendReachesLimit, 25, true)]
    [InlineData("written down and not told", 1, 2, AlertReason.ReadingsOverLimit, 40, false)]
    [InlineData("told an hour too late", 1, 2, AlertReason.ReadingsOverLimit, 120, true)]
    [InlineData("told the day before", 1, 2, AlertReason.ReadingsOverLimit, -1000, true)]
    public void A_spot_that_heats_up_must_have_been_told_of(string what, int hot, int missed, AlertReason because, double toldAt, bool told)
    {
        // 40 °C and a kelvin more each five minutes: the trend reaches 49 °C at a quarter past, the readings at 45.
        var audit = new AlertAudit();
        audit.Decisions(Climb(), [Change(because, toldAt, told)], SoakTown.Rule, []);
        Assert.Equal((what, hot, missed), (what, audit.CalledFor, audit.Missed.Count));
        Assert.True(audit.SoonCalledFor == 1, what);
    }

    [Fact]
    public void An_estimate_over_the_limit_must_have_been_told_unless_a_restore_took_that_away()
    {
        var spell = new EstimatedTooHot(Plaza, At(0), TimeSpan.FromHours(2));
        Assert.Single(Audited([], []).Missed);
        Assert.Single(Audited([Change(AlertReason.EstimateOverLimit, 0, told: true) with { Spot = "simulated-lawn" }], []).Missed);
        Assert.Empty(Audited([Change(AlertReason.EstimateOverLimit, 1, told: true)], []).Missed);
        Assert.Empty(Audited([], [(TimeSpan.FromHours(1), TimeSpan.FromHours(3))]).Missed);
        Assert.Single(Audited([], [(TimeSpan.FromHours(4), TimeSpan.FromHours(5))]).Missed);

        AlertAudit Audited(IReadOnlyList<WrittenChange> written, IReadOnlyList<(TimeSpan, TimeSpan)> rewound)
        {
            var audit = new AlertAudit();
            audit.Estimates([spell], written, rewound);
            return audit;
        }
    }

    [Fact]
    public void What_was_told_is_told_again_after_a_restore_only()
    {
        List<WrittenChange> twice = [Change(AlertReason.ReadingsOverLimit, 40, told: true), Change(AlertReason.EstimateOverLimit, 160, told: true)];
        Assert.Single(Audited(twice, []).Doubled);
        Assert.Single(Audited(twice, [At(300)]).Doubled);
        Assert.Empty(Audited(twice, [At(100)]).Doubled);
        Assert.Empty(Audited([twice[0], Change(AlertReason.UnderLongEnough, 90, told: true), twice[1]], []).Doubled);

        static AlertAudit Audited(IReadOnlyList<WrittenChange> written, IReadOnlyList<DateTimeOffset> restoredAt)
        {
            var audit = new AlertAudit();
            audit.Decisions(Climb(), written, SoakTown.Rule, restoredAt);
            return audit;
        }
    }

    private static WrittenChange Change(AlertReason because, double minutes, bool told) => new(Plaza.Value, because, At(minutes), told);

    private static List<StoredReading> Climb() =>
        [.. Enumerable.Range(0, 20).Select(i => new StoredReading(
            new Reading(Plaza, At(5 * i)) { SurfaceCelsius = 40 + i, Quality = ReadingQuality.Good }, At((5 * i) + 1)))];
}
