using System.CommandLine;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Commands;

/// <summary>Fits now, as the night would.</summary>
internal static class FitCommand
{
    public static void AddTo(RootCommand root)
    {
        var only = new Option<string?>("--spot") { Description = "Fit this spot only, e.g. north-gate-plaza.", HelpName = "ID" };
        var fit = new Command("fit", "Fit the offset of every spot on its last weeks, now. A running server takes the fits over within a minute.")
        {
            only,
        };
        Settings.AddTo(fit);
        fit.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed, (services, token) => RunAsync(services, parsed.GetValue(only), parsed, token), cancellationToken));
        root.Subcommands.Add(fit);
    }

    private static async Task<int> RunAsync(
        IServiceProvider services, string? only, ParseResult parsed, CancellationToken cancellationToken)
    {
        var output = parsed.InvocationConfiguration.Output;
        var catalogue = services.GetRequiredService<SpotCatalogue>();
        var spot = SpotId.TryParse(only, out var id) ? catalogue.Find(id) : null;
        if (only is not null && spot is null)
        {
            await parsed.InvocationConfiguration.Error.WriteLineAsync(
                $"fit: there is no spot '{only}', expected one of {string.Join(", ", catalogue.All.Select(s => s.Id))}");
            return CommandLine.Failed;
        }

        var done = 0;
        var count = spot is null ? catalogue.All.Count : 1;
        var progress = new Told<FitResult>(r => output.WriteLine(
            $"[{++done}/{count}] {r.Spot.Id,-24} {r.Fit.SampleCount,6} steps, residual scale {r.Fit.ResidualScaleKelvin:F2} K: {Word(r)}, {FitReasonTexts.Of(r.Judgement, TemperatureUnit.Celsius)}"));
        var results = await services.GetRequiredService<FitRunner>().RunAsync(spot, progress, cancellationToken);
        if (results.Count == 0)
            await output.WriteLineAsync("fit: nothing to fit; add a spot with: spot add");
        return CommandLine.Done;
    }

    private static string Word(FitResult result) => result.Standing == FitStanding.InUse ? "in use" : "waits";

    /// <summary>Tells at once and in order, as <see cref="Progress{T}"/> does not.</summary>
    internal sealed class Told<T>(Action<T> tell) : IProgress<T>
    {
        public void Report(T value) => tell(value);
    }
}
