using System.CommandLine;
using PavementWatch.Server.Tables;
using PavementWatch.Server.Weather;

namespace PavementWatch.Server.Commands;

/// <summary>Weather from files.</summary>
internal static class WeatherCommands
{
    public static Command Import()
    {
        var file = new Argument<string>("FILE")
        {
            Description = $"CSV with {WeatherCsv.Header}; each row speaks of the time up to it. Any of the quantities will do for what was observed. JSON as the API takes it will do too.",
        };
        var site = new Option<string?>("--site") { Description = "The site, as its spots name it, e.g. \"North Gate\"; the whole business unless given.", HelpName = "SITE" };
        var forecast = new Option<bool>("--forecast") { Description = "It is a forecast, not what was observed." };
        var issued = new Option<DateTimeOffset?>("--issued")
        {
            Description = "When the forecast was made; when the file was last written unless given. A newer issue takes an older one's place.",
            HelpName = "TIME",
            CustomParser = result =>
            {
                if (TableTime.TryRead(Parsing.Text(result), out var at))
                    return at;
                result.AddError($"--issued is '{Parsing.Text(result)}', expected a time with its zone like 2026-07-14T06:00:00Z");
                return null;
            },
        };
        var weather = new Command("weather", "Take over air, humidity, wind and sun of a site, observed or forecast, all of a file or nothing. A running server uses it within a minute.")
        {
            file, site, forecast, issued,
        };
        Settings.AddTo(weather);
        weather.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
                var store = services.GetRequiredService<WeatherStore>();
                if (store.FindSite(parsed.GetValue(site)) is not { } known)
                {
                    await error.WriteLineAsync($"there is no site '{parsed.GetValue(site)}'; {Known(store)}");
                    return CommandLine.Failed;
                }

                var path = parsed.GetRequiredValue(file);
                using var reader = Parsing.OpenText(path);
                var receipt = await services.GetRequiredService<WeatherIntake>().TakeAsync(
                    WeatherIntake.Read(reader),
                    known,
                    parsed.GetValue(forecast) ? WeatherKind.Forecast : WeatherKind.Observed,
                    parsed.GetValue(issued) ?? new DateTimeOffset(File.GetLastWriteTimeUtc(path)),
                    token);
                if (receipt is not StoredWeather stored)
                {
                    await error.WriteLineAsync($"import: {path}, {((RefusedWeather)receipt).Fault}. Nothing was stored.");
                    return CommandLine.Failed;
                }

                foreach (var remark in stored.Remarks)
                    await error.WriteLineAsync($"import: {remark}");
                await output.WriteLineAsync(stored.ToString());
                return CommandLine.Done;
            },
            cancellationToken));
        return weather;
    }

    public static string Known(WeatherStore store) => store.Sites is { Count: > 0 } sites
        ? $"known: {string.Join(", ", sites)}"
        : "no spot has a site yet; leave it out for the whole business";
}
