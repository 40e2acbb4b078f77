using System.Text.Json;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Days;
using PavementWatch.Dashboards.Tests.Hosting;

namespace PavementWatch.Dashboards.Tests.Days;

/// <summary>What is said of a walk's ground.</summary>
public class WalkDoseTextsTests
{
    // 14:05 in Ferngate.
    private static readonly DateTimeOffset Start = new(2026, 7, 14, 19, 5, 0, TimeSpan.Zero);

    // Hurts in ten minutes, see ContactDoseTests; a hair cooler, so that no figure falls on the other side.
    private const double TenMinutes = 48.29;

    [Theory]
    //          minutes spots sentence
    [InlineData(0.0, 1, "Pickle's walk takes next to nothing of the heat that hurts skin.")]
    [InlineData(3.3, 1, "Pickle's walk takes about a third (33 %) of the heat that hurts skin, at Quarry Steps.")]
    [InlineData(3.3, 3, "Pickle's walk takes about a third (33 %) of the heat that hurts skin, most at Quarry Steps if it is as long at each spot.")]
    [InlineData(15.5, 2, "Pickle's walk is long enough to hurt paws, from about 14:15 on, most at Quarry Steps.")]
    public void A_walk_whose_ground_is_known_is_told_in_one_sentence(double minutes, int spots, string sentence) =>
        Assert.Equal(sentence, WalkDoseTexts.Of(Dose(minutes, spots), "Pickle", Ferngate.Zone));

    [Theory]
    [InlineData(3.3, "Whether Pickle's walk is long enough to hurt paws is unknown: nothing certain is known of the ground at North Gate plaza and Mill Lane.")]
    [InlineData(15.5, "Pickle's walk is long enough to hurt paws, from about 14:15 on at the latest, most at Quarry Steps; nothing certain is known of the ground at North Gate plaza and Mill Lane.")]
    public void One_whose_ground_is_not_known_is_told_as_that(double minutes, string sentence) =>
        Assert.Equal(sentence, WalkDoseTexts.Of(Dose(minutes, 3, "North Gate plaza", "Mill Lane"), "Pickle", Ferngate.Zone));

    [Theory]
    //          share   words
    [InlineData(0.005, "up to a tenth (1 %)")]
    [InlineData(0.1, "up to a tenth (10 %)")]
    [InlineData(0.13, "about a fifth (13 %)")]
    [InlineData(0.25, "about a quarter (25 %)")]
    [InlineData(0.34, "about a third (34 %)")]
    [InlineData(0.36, "about two fifths (36 %)")]
    [InlineData(0.501, "about half (51 %)")]
    [InlineData(0.66, "about two thirds (66 %)")]
    [InlineData(0.76, "about three quarters (76 %)")]
    [InlineData(0.78, "nearly all (78 %)")]
    [InlineData(0.9999, "nearly all (99 %)")]
    public void A_share_is_said_in_words_first_and_its_figure_is_not_rounded_down(double share, string words) =>
        Assert.Equal(words, WalkDoseTexts.Share(share));

    [Fact]
    public void No_sentence_gives_leave()
    {
        foreach (var minutes in (double[])[0, 1, 3, 5, 9, 20])
        {
            foreach (var unknown in (string[][])[[], ["Quarry Steps"]])
                Assert.DoesNotMatch("(?i)safe|fine|may walk|can walk|allowed|enough time|go ahead|comfort", WalkDoseTexts.Of(Dose(minutes, 2, unknown), "Pickle", Ferngate.Zone));
        }
    }

    [Fact]
    public void A_day_tells_it_after_its_heat_and_before_everything_else()
    {
        var day = Ferngate.Day(Plaza, new(2026, 7, 14), Ferngate.Now) with { Walk = new(Start, Start.AddMinutes(20), "Pickle", "on the grass") { Dose = Dose(15.5, 1) } };
        var sentences = DaySummary.Sentences(day, Ferngate.Now, TemperatureUnit.Both);
        Assert.StartsWith("Too hot", sentences[0], StringComparison.Ordinal);
        Assert.Equal("Pickle's walk is long enough to hurt paws, from about 14:15 on, at Quarry Steps.", sentences[1]);
        var unknown = DaySummary.Sentences(day with { Points = [], Walk = day.Walk! with { Dose = Dose(1, 1, "North Gate plaza") } }, Ferngate.Now, TemperatureUnit.Both);
        Assert.Contains("is unknown: nothing certain is known of the ground at North Gate plaza.", unknown[1], StringComparison.Ordinal);
    }

    [Theory]
    //          minutes celsius    unknown fraction hurt
    [InlineData(5.0, TenMinutes, false, 0.5, false)]
    [InlineData(15.5, TenMinutes, false, 1.0, true)]
    [InlineData(1.0, 70.0, false, 1.0, true)]
    [InlineData(5.0, TenMinutes, true, null, false)]
    [InlineData(15.5, TenMinutes, true, 1.0, true)]
    public void A_script_reads_the_same_with_its_unit_in_its_name(double minutes, double celsius, bool unknown, double? fraction, bool hurts)
    {
        string[] names = unknown ? ["Quarry Steps"] : [];
        var day = Ferngate.Day(Plaza, new(2026, 7, 14), Ferngate.Now) with { Walk = new(Start, Start.AddMinutes(20), "Pickle", "") { Dose = Dose(minutes, celsius, 1, names) } };

        using var json = JsonDocument.Parse(JsonSerializer.Serialize(SpotDayJson.Of(day), JsonSerializerOptions.Web));

        var dose = json.RootElement.GetProperty("walk").GetProperty("dose");
        if (fraction is { } share)
            Assert.Equal(share, dose.GetProperty("doseFraction").GetDouble(), 0.005);
        else
            Assert.Equal(JsonValueKind.Null, dose.GetProperty("doseFraction").ValueKind);
        Assert.Equal(hurts ? JsonValueKind.String : JsonValueKind.Null, dose.GetProperty("hurtFrom").ValueKind);
        Assert.Equal(names, dose.GetProperty("unknownSpots").EnumerateArray().Select(name => name.GetString()));
        Assert.Equal(WalkDoseTexts.Of(day.Walk!.Dose!, "Pickle", Ferngate.Zone), dose.GetProperty("text").GetString());
    }

    private static Spot Plaza => new(SpotId.Parse("north-gate-plaza"), "North Gate plaza", SurfaceKind.Asphalt, 37.4, -97.0, Ferngate.Zone);

    private static WalkDose Dose(double minutes, int spots, params string[] unknown) => Dose(minutes, TenMinutes, spots, unknown);

    private static WalkDose Dose(double minutes, double celsius, int spots, string[] unknown)
    {
        ContactStretch[] route = [new(celsius, TimeSpan.FromMinutes(minutes)), .. unknown.Select(_ => new ContactStretch(null, TimeSpan.FromMinutes(1)))];
        return new(ContactDose.Of(route), Start, spots, unknown) { HottestSpot = minutes > 0 ? "Quarry Steps" : null };
    }
}
