using System.Text;
using System.Text.Json;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Wire;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Wire;

/// <summary>What comes over the wire, changed at random: nothing makes a reader throw, allocate without bound, or let through what cannot be.</summary>
public sealed class WireFuzzTests
{
    private static readonly DateTimeOffset Now = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);

    private static readonly string[] Packs =
    [
        """[{"bn":"north-gate-plaza/","bt":1784048400,"n":"surface","u":"Cel","v":58.25},{"n":"air","u":"Cel","v":33.5},{"n":"humidity","u":"%RH","v":41},{"n":"quality","vs":"suspect spike"}]""",
        """[{"bver":10,"n":"quarry-steps/surface","u":"Cel","t":1784048400.5,"v":31},{"n":"quarry-steps/quality","t":1784048400.5,"vs":"good"},{"n":"quarry-steps/air","u":"Cel","t":-5,"v":30}]""",
        """[{"bn":"a/","bt":1.784e9,"bu":"Cel","bv":20,"bs":1,"v":1.5,"n":"surface","s":3,"ut":5},{"vb":true,"n":"x"},{"vd":"AQ","n":"y"}]""",
        "[]",
    ];

    private static readonly string[] Settings =
    [
        """{"version":"v7","spots":{"quarry-steps":{"surface":"asphalt","emissivityFraction":0.95,"openSkyFraction":0.5,"limitCelsius":46.5}},"estimates":{"quarry-steps":{"surfaceCelsius":51.5,"upperCelsius":55.25,"at":"2026-07-14T17:00:00Z"}}}""",
        """{"version":"","spots":{}}""",
    ];

    private static readonly string[] Reports =
    [
        """{"state":"online","at":"2026-07-14T17:00:00+00:00","version":"0.1.0","boot":"b1","clock":"network","waiting":3,"held":0,"putOff":1,"oldestWaiting":"2026-07-14T16:00:00Z","diskFault":"full","counts":{"Duplicate":4},"probeFaults":{"2":"no answer"},"settingsVersion":"v7"}""",
        """{"state":"offline"}""",
    ];

    [Fact]
    public void A_pack_of_readings_is_read_or_refused_and_what_is_read_can_be() => Fuzz.Bytes("pack", 0.15, Packs, bytes =>
    {
        if (ReadingPack.Read(bytes, Now) is not ReadingPackOutcome.Parsed parsed)
            return;
        foreach (var reading in parsed.Readings)
        {
            Assert.Null(ReadingRange.FirstFault(reading));
            Assert.InRange(reading.MeasuredAt, Now - ReadingPack.MostBehind, Now + ReadingPack.MostAhead);
        }

        if (parsed.Readings.Count > 0)
        {
            // What was let in goes out and comes back equal.
            var again = Assert.IsType<ReadingPackOutcome.Parsed>(ReadingPack.Read(ReadingPack.Write(parsed.Readings), Now));
            Assert.Equal(parsed.Readings.OrderBy(r => r.Spot.Value).ThenBy(r => r.MeasuredAt), again.Readings.OrderBy(r => r.Spot.Value).ThenBy(r => r.MeasuredAt));
        }
    });

    [Fact]
    public void A_topic_is_ours_letter_by_letter_or_none() => Fuzz.Texts(
        "topic", 0.1, ["pavement/v1/quarry/readings", "pavement/v1/north-gate/status", "pavement/v1/a/settings", "pavement/v1/+/readings"], text =>
        {
            if (!Topics.TryParse(text, out var gateway, out var kind))
            {
                Assert.Equal((default, TopicKind.Unknown), (gateway, kind));
                return;
            }

            Assert.Equal(text, kind switch { TopicKind.Readings => Topics.Readings(gateway), TopicKind.Status => Topics.Status(gateway), _ => Topics.Settings(gateway) });
        });

    [Fact]
    public void Settings_are_read_whole_or_refused_as_no_JSON_of_ours() => Fuzz.Bytes("settings", 0.1, Settings, bytes =>
    {
        try
        {
            var settings = GatewaySettings.Read(bytes);
            Assert.NotNull(settings.Version);
            Assert.All(settings.Spots, spot => Assert.NotNull(spot.Value));
            Assert.All(settings.Estimates ?? new Dictionary<string, SpotEstimate>(), estimate => Assert.NotNull(estimate.Value));
        }
        catch (JsonException)
        {
            // Said so in the docs.
        }
    });

    [Fact]
    public void A_status_is_read_whole_or_is_none() => Fuzz.Bytes("status", 0.1, Reports, bytes =>
    {
        if (GatewayReport.TryRead(bytes) is { } report)
        {
            Assert.NotNull(report.State);
            Assert.All(report.ProbeFaults ?? new Dictionary<string, string>(), fault => Assert.NotNull(fault.Value));
            Assert.All(report.BandsMicrometers ?? new Dictionary<string, string>(), band => Assert.NotNull(band.Value));
            Assert.NotEmpty(report.Write());
        }
    });

    [Theory]
    [InlineData("""{"version":"v7","spots":{"quarry-steps":null}}""")]
    [InlineData("""{"version":"v7","estimates":{"quarry-steps":null}}""")]
    [InlineData("""{"version":null}""")]
    [InlineData("null")]
    public void Settings_with_nothing_where_something_belongs_are_refused(string json) =>
        Assert.Throws<JsonException>(() => GatewaySettings.Read(Encoding.UTF8.GetBytes(json)));

    [Theory]
    [InlineData("""{"state":null}""")]
    [InlineData("""{"state":"online","probeFaults":{"2":null}}""")]
    [InlineData("""{"state":"online","bandsMicrometers":{"quarry-steps":null}}""")]
    public void A_status_with_nothing_where_something_belongs_is_none(string json) =>
        Assert.Null(GatewayReport.TryRead(Encoding.UTF8.GetBytes(json)));
}
