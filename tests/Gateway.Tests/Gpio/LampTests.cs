using Microsoft.Extensions.Time.Testing;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Tests.Gpio;

public sealed class LampTests
{
    private static readonly DateTimeOffset Start = new(2025, 7, 14, 18, 0, 0, TimeSpan.Zero);
    private static readonly TimeSpan Minute = TimeSpan.FromMinutes(1);

    private readonly FakeTimeProvider _time = new(Start);
    private readonly LatestReadings _latest;
    private readonly SpotTable _spots = new()
    {
        ["plaza"] = new SpotOptions { LimitCelsius = 49 },
        ["steps"] = new SpotOptions { LimitCelsius = 52 },
    };

    private readonly Dictionary<string, SpotEstimate> _estimates = [];

    public LampTests() => _latest = new LatestReadings(_time);

    private void Comes(string spot, double? surface, ReadingQuality quality = ReadingQuality.Good) =>
        _latest.Take([new Reading(SpotId.Parse(spot), _time.GetUtcNow()) { SurfaceCelsius = surface, Quality = quality }]);

    private void BothCome(double plaza, double steps)
    {
        Comes("plaza", plaza);
        Comes("steps", steps);
    }

    private string Signal() => LampRule.Signal(_spots, _latest, _estimates, _time.GetUtcNow(), Minute, _time.GetUtcNow() - Start).ToString();

    [Theory]
    [InlineData(48.9, 51.9, "Comfortable")]
    [InlineData(49.0, 30.0, "TooHot")]
    [InlineData(30.0, 52.0, "TooHot")]
    [InlineData(30.0, 51.0, "Comfortable")]
    public void It_is_lit_from_the_limit_of_any_spot(double plaza, double steps, string signal)
    {
        BothCome(plaza, steps);
        Assert.Equal(signal, Signal());
    }

    [Fact]
    public void A_spot_that_was_hot_and_falls_silent_blinks_slowly_for_two_hours_then_is_a_fault()
    {
        BothCome(48, 30);
        _time.Advance(3 * Minute);
        Comes("steps", 30);
        Assert.Equal("Comfortable", Signal());
        _time.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal("EstimatedTooHot", Signal());
        _time.Advance(TimeSpan.FromHours(2));
        Comes("steps", 30);
        Assert.Equal("Fault", Signal());
    }

    [Theory]
    [InlineData(49.0, 0, "EstimatedTooHot", "the upper end reaches the limit")]
    [InlineData(48.9, 0, "Fault", "it does not: silence is never comfortable")]
    [InlineData(60.0, -15, "EstimatedTooHot", "as old as it may be")]
    [InlineData(60.0, -16, "Fault", "older")]
    [InlineData(60.0, 16, "Fault", "one of the two clocks is wrong")]
    public void A_silent_spot_is_judged_by_the_servers_estimate_while_it_is_fresh(double upper, int minutesOld, string signal, string why)
    {
        BothCome(30, 30);
        _time.Advance(TimeSpan.FromHours(1));
        Comes("steps", 30);
        _estimates["plaza"] = new SpotEstimate(40, upper, _time.GetUtcNow().AddMinutes(minutesOld));

        Assert.True(Signal() == signal, $"{why}: {Signal()}");
    }

    [Fact]
    public void The_servers_estimate_warns_of_a_spot_whose_cool_readings_it_does_not_believe()
    {
        BothCome(30, 30);
        _estimates["plaza"] = new SpotEstimate(60, 70, _time.GetUtcNow());
        Assert.Equal("EstimatedTooHot", Signal());

        // It takes its word back, or is not heard for a quarter of an hour.
        _estimates["plaza"] = new SpotEstimate(40, 48.9, _time.GetUtcNow());
        Assert.Equal("Comfortable", Signal());
        _estimates["plaza"] = new SpotEstimate(60, 70, _time.GetUtcNow().AddMinutes(-16));
        Assert.Equal("Comfortable", Signal());

        BothCome(50, 30);
        Assert.Equal("TooHot", Signal());
    }

    [Theory]
    [InlineData(ReadingQuality.Suspect)]
    [InlineData(ReadingQuality.Rejected)]
    public void A_spot_that_was_too_hot_stays_so_while_only_doubtful_or_rejected_readings_come(ReadingQuality quality)
    {
        BothCome(50, 30);
        for (var minute = 1; minute <= 3; minute++)
        {
            _time.Advance(Minute);
            Comes("plaza", 30, quality);
            Comes("steps", 30);
            Assert.Equal("TooHot", Signal());
        }

        _time.Advance(Minute);
        Comes("plaza", 30, quality);
        Comes("steps", 30);
        Assert.Equal("EstimatedTooHot", Signal());
        Comes("plaza", 30);
        Assert.Equal("Comfortable", Signal());
    }

    [Fact]
    public void A_spot_that_was_cool_and_falls_silent_is_a_fault()
    {
        BothCome(46.9, 30);
        _time.Advance(4 * Minute);
        Comes("steps", 30);
        Assert.Equal("Fault", Signal());
    }

    [Fact]
    public void A_doubtful_reading_may_warn_but_not_clear()
    {
        BothCome(40, 30);
        Comes("plaza", 60, ReadingQuality.Suspect);
        Assert.Equal("TooHot", Signal());
        Comes("plaza", 50);
        _time.Advance(4 * Minute);
        Comes("steps", 30);
        Comes("plaza", 30, ReadingQuality.Suspect);
        Assert.Equal("EstimatedTooHot", Signal());
    }

    [Fact]
    public void A_rejected_reading_says_nothing()
    {
        BothCome(40, 30);
        Comes("plaza", 110, ReadingQuality.Rejected);
        Assert.Equal("Comfortable", Signal());
    }

    [Fact]
    public void Nothing_is_missing_in_the_first_minutes()
    {
        Assert.Equal("Comfortable", Signal());
        _time.Advance(4 * Minute);
        Assert.Equal("Fault", Signal());
    }

    [Fact]
    public void The_hottest_news_goes_first()
    {
        Comes("steps", 60);
        _time.Advance(4 * Minute);
        Assert.Equal("EstimatedTooHot", Signal());
        Comes("plaza", 50);
        Assert.Equal("TooHot", Signal());
    }

    [Theory]
    // Each letter is a tenth of a second: # lit, . dark.
    [InlineData("TooHot", "########################################")]
    [InlineData("Comfortable", "........................................")]
    [InlineData("EstimatedTooHot", "##########..........##########..........")]
    [InlineData("Fault", "##..##........................##..##....")]
    public void Each_signal_has_its_pattern(string signal, string pattern) =>
        Assert.Equal(pattern, Light(t => LampPattern.IsLit(Enum.Parse<LampSignal>(signal), t), pattern.Length));

    [Theory]
    [InlineData(0, "##############################>>>>>")]
    [InlineData(1, "..........####....>>>>>>>>>>>>>>>>>")]
    [InlineData(3, "..........####....####....####....>")]
    public void A_self_check_is_told_in_flashes(int faults, string pattern) =>
        Assert.Equal(pattern, Light(t => LampPattern.OfSelfCheck(faults, t), pattern.Length));

    [Fact]
    public void A_button_held_is_told_once_and_a_touched_or_bouncing_one_never()
    {
        var button = new ServiceButton(TimeSpan.FromSeconds(5));
        var told = Enumerable.Range(0, 300).Where(i => button.Look(Pressed(i), TimeSpan.FromMilliseconds(100 * i))).ToList();
        // Held from 10.0 s to 20.0 s: told at 15.0 s.
        Assert.Equal([150], told);

        static bool Pressed(int tenth) => tenth is (>= 20 and < 65) or 66 or 68 or (>= 100 and < 200) || (tenth > 210 && tenth % 30 != 0);
    }

    private static string Light(Func<TimeSpan, bool?> lit, int tenths) =>
        string.Concat(Enumerable.Range(0, tenths).Select(i => lit(TimeSpan.FromMilliseconds(100 * i)) switch
        {
            true => '#',
            false => '.',
            null => '>',
        }));
}
