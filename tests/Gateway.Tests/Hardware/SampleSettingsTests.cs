using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Settings;
using PavementWatch.Gateway.Simulation;
using PavementWatch.Gateway.Spots;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Hardware;

/// <summary>The sample settings of <c>hardware/settings</c>, loaded as the gateway loads its own.</summary>
public sealed class SampleSettingsTests : IDisposable
{
    private static readonly string Folder = Path.Combine(SharedData.RepositoryRoot, "hardware", "settings");
    private static readonly DateTimeOffset Noon = new(2026, 7, 4, 18, 0, 0, TimeSpan.Zero);

    private readonly TemporaryFolder _data = new();

    public static TheoryData<string> Good() => [.. Names("good.*.json")];

    public static TheoryData<string> Bad() => [.. Names("bad.*.json")];

    [Theory]
    [MemberData(nameof(Good))]
    public void A_good_file_is_accepted_and_its_probes_answer(string file)
    {
        using var gateway = Load(file);
        gateway.Services.GetRequiredService<IStartupValidator>().Validate();

        var probes = gateway.Services.GetRequiredService<IOptions<ProbeTable>>().Value;
        var spots = gateway.Services.GetRequiredService<IOptions<SpotTable>>().Value;
        var samples = gateway.Services.GetRequiredService<IProbes>().SampleAll(Noon);
        Assert.Equal(probes.Count, samples.Count);
        Assert.All(samples, s => Assert.True(s.Outcome is ReadOutcome.Measured, $"{s.Probe}: {s.Outcome}"));
        Assert.All(spots.Keys, spot => Assert.Contains(samples, s => s.Spot == SpotId.Parse(spot)));
    }

    [Theory]
    [MemberData(nameof(Bad))]
    public void A_bad_file_is_refused_with_the_message_it_names(string file)
    {
        const string mark = "// expected: ";
        var expected = File.ReadLines(Path.Combine(Folder, file)).Select(l => l.Trim())
            .Single(l => l.StartsWith(mark, StringComparison.Ordinal))[mark.Length..];
        if (expected.EndsWith('…'))
            Assert.StartsWith(expected[..^1], Said(file), StringComparison.Ordinal);
        else
            Assert.Equal(expected, Said(file));
    }

    public void Dispose() => _data.Dispose();

    private string Said(string file)
    {
        try
        {
            using var gateway = Load(file);
            gateway.Services.GetRequiredService<IStartupValidator>().Validate();
            return "nothing: it was accepted";
        }
        catch (Exception refused) when (SettingsFaults.Of(refused) is { } fault)
        {
            return fault;
        }
    }

    private static List<string> Names(string pattern)
    {
        var names = Directory.GetFiles(Folder, pattern).Select(f => Path.GetFileName(f)).Order(StringComparer.Ordinal).ToList();
        return names.Count > 0 ? names : throw new InvalidOperationException($"no {pattern} in {Folder}");
    }

    // What enrolment adds comes from the command line here.
    private Microsoft.Extensions.Hosting.IHost Load(string file) => GatewayHost.Build(new GatewayHostOptions
    {
        Settings = SettingsSources.Load(
            Path.Combine(Folder, file), simulate: false, ["--Gateway:Id=north-gate", "--Publishing:BrokerHost=localhost"], _data["gateway"]),
        World = (_, _) => new TrueValues(55, 33, 40, 5) { LightLux = 60_000, SupplyVolts = 12.8 },
    });
}
