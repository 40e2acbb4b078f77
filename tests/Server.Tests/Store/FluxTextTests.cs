using System.Diagnostics;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Store;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Store.SomeReadings;

namespace PavementWatch.Server.Tests.Store;

/// <summary>
/// Every question the store asks is Flux, by the judgement of @influxdata/flux-lsp-node, which knows the functions and
/// their arguments. PAVEMENTWATCH_FLUX_CHECK names the folder where that package is installed; tests/run sets it.
/// </summary>
public sealed class FluxTextTests
{
    private const string Script =
        "const flux = require('@influxdata/flux-lsp-node');"
        + "console.log(flux.is_valid_flux(require('fs').readFileSync(0, 'utf8')));";

    public static TheoryData<string, string, bool> Texts => new()
    {
        { "range", InfluxText.Range("readings", Plaza, At("12:00"), At("13:00:00.001")), true },
        { "range of a bucket with an awkward name", InfluxText.Range("my \"best\" ${bucket}\\", Plaza, At("12:00"), At("13:00")), true },
        { "times of one spot", InfluxText.Times("readings", [Plaza], At("12:00"), At("13:00")), true },
        { "times of several spots", InfluxText.Times("readings", [Plaza, Steps, SpotId.Parse("0")], At("12:00"), At("13:00")), true },
        { "newest time of one spot", InfluxText.NewestTime("readings", Plaza, At("12:00")), true },
        { "newest times", InfluxText.NewestTimes("readings"), true },
        { "control: a function that does not exist", InfluxText.NewestTimes("readings").Replace("last()", "lastt()"), false },
        { "control: an argument that does not exist", InfluxText.NewestTimes("readings").Replace("columns:", "colums:"), false },
    };

    [Theory]
    [MemberData(nameof(Texts))]
    public async Task Questions_are_valid_flux(string name, string flux, bool valid)
    {
        var folder = Environment.GetEnvironmentVariable("PAVEMENTWATCH_FLUX_CHECK")
            ?? Path.Combine(SharedData.RepositoryRoot, "artifacts", "tests", "flux");
        Assert.SkipUnless(
            Directory.Exists(Path.Combine(folder, "node_modules", "@influxdata", "flux-lsp-node")),
            "not installed: npm package @influxdata/flux-lsp-node (bash tests/run installs it, PAVEMENTWATCH_FLUX_CHECK names its folder)");
        var node = ChildProcess.Require("nodejs", "/usr/bin/node", "/usr/local/bin/node");

        using var process = Process.Start(new ProcessStartInfo(node, ["-e", Script])
        {
            WorkingDirectory = folder,
            RedirectStandardInput = true,
            RedirectStandardOutput = true,
        })!;
        await process.StandardInput.WriteAsync(flux);
        process.StandardInput.Close();
        var answer = await process.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
        await process.WaitForExitAsync(TestContext.Current.CancellationToken);

        Assert.True(answer.Trim() == (valid ? "true" : "false"), $"{name}: {answer.Trim()} for\n{flux}");
    }
}
