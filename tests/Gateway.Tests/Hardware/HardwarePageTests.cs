using System.Globalization;
using System.Text.RegularExpressions;
using Microsoft.Extensions.Configuration;
using PavementWatch.Core.Surfaces;
using PavementWatch.Gateway.Commands;
using PavementWatch.Gateway.Gpio;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Sensors.Ds3231;
using PavementWatch.Gateway.Spots;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Hardware;

/// <summary>What <c>hardware/README.md</c> says is so.</summary>
public sealed partial class HardwarePageTests
{
    [Fact]
    public void Emissivities_are_those_of_the_catalogue()
    {
        var written = HardwarePage.Table("surface").Select(r => string.Join(" | ", r));
        var expected = SurfaceKinds.All.Select(kind =>
        {
            var e = SurfaceCatalogue.Of(kind).EmissivityFraction;
            return string.Create(CultureInfo.InvariantCulture,
                $"{SurfaceKinds.Name(kind)} | `{SurfaceKinds.Slug(kind)}` | {e.Value:0.00} | {e.Low:0.00}–{e.High:0.00}");
        });
        Assert.Equal(expected, written);
    }

    [Fact]
    public void Pins_are_those_of_the_wiring_diagram()
    {
        var diagram = File.ReadAllText(Path.Combine(HardwarePage.Folder, "wiring.svg"));
        // A used pin is drawn in its wire's colour, and its name stands where the wire leaves the board.
        var drawn = UsedPin().Matches(diagram).Select(m => m.Groups[1].Value);
        var table = HardwarePage.Table("pin");
        Assert.Equal(table.Select(r => r[0]), drawn);
        Assert.All(table, row => Assert.Contains($">{row[1]}</text>", diagram, StringComparison.Ordinal));
    }

    public static TheoryData<string, string> Shown()
    {
        var data = new TheoryData<string, string>();
        foreach (var block in HardwarePage.Blocks("console"))
        {
            Assert.StartsWith("$ gateway ", block[0], StringComparison.Ordinal);
            data.Add(block[0]["$ gateway ".Length..], string.Concat(block.Skip(1).Select(l => l + "\n")));
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(Shown))]
    public async Task Command_prints_what_the_page_shows(string command, string shown)
    {
        var (output, error) = (new StringWriter(), new StringWriter());
        var code = await CommandLine.RunAsync(HardwarePage.Arguments(command), output, error);
        Assert.Equal((0, ""), (code, error.ToString()));
        Assert.Equal(shown, output.ToString());
    }

    [Fact]
    public void Every_other_command_on_the_page_exists()
    {
        var typed = HardwarePage.Blocks("sh").SelectMany(block => block).ToList();
        Assert.NotEmpty(typed);
        foreach (var line in typed)
        {
            var words = HardwarePage.Arguments(line.StartsWith("sudo ", StringComparison.Ordinal) ? line[5..] : line);
            switch (words)
            {
                case ["gateway", .. var arguments]:
                    Assert.True(CommandLine.Root().Parse(arguments).Errors.Count == 0, line);
                    break;
                case ["bash", "hardware/build", ..]:
                case ["bash", "gateway/install"]:
                    Assert.True(File.Exists(Path.Combine(HardwarePage.Folder, Path.GetFileName(words[1]))), line);
                    break;
                case ["bash", "/opt/pavementwatch-builds/current/install", var option]:
                    Assert.Contains($"    {option})", File.ReadAllText(Path.Combine(HardwarePage.Folder, "install")), StringComparison.Ordinal);
                    break;
                case ["systemctl", _, "pavementwatch-gateway"]:
                    Assert.True(File.Exists(Path.Combine(HardwarePage.Folder, words[2] + ".service")), line);
                    break;
                default:
                    Assert.Contains(words[0], new[] { "scp", "ssh", "cp", "reboot" });
                    break;
            }
        }
    }

    [Fact]
    public void Settings_are_those_of_the_gateway()
    {
        var written = HardwarePage.Table("setting").SelectMany(row => Code().Matches(row[0]), (row, m) => (row[1], m.Groups[1].Value));
        Assert.Equal(
            Settable("spot", typeof(SpotOptions)).Concat(Settable("probe", typeof(ProbeOptions)))
                .Concat(Settable("panel", typeof(PanelOptions))).Concat(Settable("clock chip", typeof(ClockChipOptions)))
                .Order(StringComparer.Ordinal),
            written.Select(w => $"{w.Item1} {w.Value}").Order(StringComparer.Ordinal));

        static IEnumerable<string> Settable(string of, Type options) =>
            options.GetProperties().Where(p => p.SetMethod is not null).Select(p => $"{of} {p.Name}");
    }

    [Fact]
    public void Kinds_of_probe_are_those_of_the_gateway()
    {
        var row = HardwarePage.Table("setting").Single(r => r[0] == "`Kind`");
        Assert.Equal(
            Enum.GetNames<ProbeKind>().Where(k => k != nameof(ProbeKind.None)),
            Code().Matches(row[2]).Select(m => m.Groups[1].Value));
    }

    [Fact]
    public void Every_message_to_look_up_is_one_the_gateway_says()
    {
        var source = string.Concat(Directory
            .EnumerateFiles(Path.Combine(SharedData.RepositoryRoot, "gateway"), "*.cs", SearchOption.AllDirectories)
            .Where(file => !file.Contains("/obj/", StringComparison.Ordinal))
            .Select(File.ReadAllText));
        foreach (var row in HardwarePage.Table("it says"))
            Assert.Contains(Code().Match(row[0]).Groups[1].Value, source, StringComparison.Ordinal);
    }

    [Fact]
    public void Pins_of_the_samples_are_those_of_the_diagram()
    {
        var sample = new ConfigurationBuilder().AddJsonFile(Path.Combine(HardwarePage.Folder, "settings", "good.one-spot.json")).Build();
        Assert.Contains(HardwarePage.Table("pin"), row => row[1] == $"lamp (GPIO{sample["Panel:LampPin"]})");
        Assert.Contains(HardwarePage.Table("pin"), row => row[1] == $"button (GPIO{sample["Panel:ButtonPin"]})");
    }

    [Fact]
    public void Every_link_leads_somewhere()
    {
        var links = HardwarePage.Lines.SelectMany(l => Link().Matches(l)).Select(m => m.Groups[1].Value).ToList();
        Assert.NotEmpty(links);
        Assert.All(links, link => Assert.True(File.Exists(Path.Combine(HardwarePage.Folder, link)), link));
    }

    [GeneratedRegex("""<circle class="pin wire [a-z]+"[^>]*/><text[^>]*>(\d+)</text>""")]
    private static partial Regex UsedPin();

    [GeneratedRegex("`([^`]+)`")]
    private static partial Regex Code();

    [GeneratedRegex(@"\]\(([^)#:]+)\)")]
    private static partial Regex Link();
}
