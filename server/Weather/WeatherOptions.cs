using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Weather;

/// <summary>Where forecasts come from by themselves, and how long weather is kept. Section <c>Weather</c>.</summary>
internal sealed class WeatherOptions
{
    /// <summary>A file that somebody's program writes, CSV or JSON as <c>import weather</c> reads them; a relative path begins where the server was started. None unless set.</summary>
    public string ForecastFile { get; set; } = "";

    /// <summary>An address, http or https, that answers with the same; none unless set.</summary>
    public string ForecastUrl { get; set; } = "";

    /// <summary>Whose forecast it is, as its spots name their site; the whole business unless set.</summary>
    public string ForecastSite { get; set; } = "";

    /// <summary>How often file and address are looked at. 10 s to 1 day inclusive; 10 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:10", "1.00:00:00")]
    public TimeSpan ForecastEvery { get; set; } = TimeSpan.FromMinutes(10);

    /// <summary>[days] How long observed weather is kept. 80 to 36500; 800 unless set, two summers. Fits look back 75.</summary>
    [Range(80, 36500)]
    public int KeepDays { get; set; } = 800;
}

[OptionsValidator]
internal sealed partial class WeatherOptionsValidator : IValidateOptions<WeatherOptions>;

/// <summary>What attributes cannot say.</summary>
internal sealed class WeatherAddressValidator : IValidateOptions<WeatherOptions>
{
    public ValidateOptionsResult Validate(string? name, WeatherOptions options) =>
        options.ForecastUrl.Length == 0
        || (Uri.TryCreate(options.ForecastUrl, UriKind.Absolute, out var url) && url.Scheme is "http" or "https")
            ? ValidateOptionsResult.Success
            : ValidateOptionsResult.Fail($"Weather:ForecastUrl is '{ShownAddress.Of(options.ForecastUrl)}', expected an address like https://forecast.example/ferngate.csv");
}
