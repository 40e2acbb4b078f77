using System.Globalization;
using Microsoft.AspNetCore.Http;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Setup;

/// <summary>What people type into setup forms, and what they are told of gateways.</summary>
internal static class SetupText
{
    // Below these a supply is about to fail: 5 V less the five per cent a Raspberry Pi stands (its data sheet: 4.75 V);
    // a lead battery of 12 V half empty at rest (common practice, no source).
    private const double LowFiveVolts = 4.75;
    private const double LowTwelveVolts = 11.8;

    /// <summary>Whether a supply is low: of a 5 V one up to 7 V, of a 12 V one above.</summary>
    public static bool IsLow(double volts) => volts < LowFiveVolts || volts is > 7 and < LowTwelveVolts;

    /// <summary>A number as people type it, with a point or a comma.</summary>
    public static double? Number(string? text) =>
        double.TryParse(text?.Trim().Replace(',', '.'), NumberStyles.Float, CultureInfo.InvariantCulture, out var number) && double.IsFinite(number)
            ? number
            : null;

    /// <summary>A temperature in °C from a number and its unit, <c>celsius</c> or <c>fahrenheit</c>.</summary>
    public static double? Celsius(string? text, string? unit) =>
        Number(text) is { } number ? unit == "fahrenheit" ? Temperatures.FromFahrenheit(number) : number : null;

    /// <summary>A limit as it is typed.</summary>
    /// <param name="text">The number.</param>
    /// <param name="typed">Its unit, <c>celsius</c> or <c>fahrenheit</c>.</param>
    /// <param name="unit">Who typed it reads temperatures in this.</param>
    /// <returns>[°C] The limit; or what is wrong with it and what was expected.</returns>
    public static (double? Celsius, string? Fault) Limit(string? text, string? typed, TemperatureUnit unit) =>
        Limit("limit", text, typed, QuantityRanges.Limit, Spot.DefaultLimitCelsius, "", unit);

    /// <summary>The same of a cold limit, which may be left empty.</summary>
    /// <returns>[°C] The limit, <c>null</c> for that of all spots; or what is wrong with it and what was expected.</returns>
    public static (double? Celsius, string? Fault) ColdLimit(string? text, string? typed, TemperatureUnit unit) => string.IsNullOrEmpty(text)
        ? (null, null)
        : Limit("cold limit", text, typed, QuantityRanges.ColdLimit, QuantityRanges.ColdLimitMostCelsius, ", or nothing", unit);

    private static (double? Celsius, string? Fault) Limit(
        string name, string? text, string? typed, QuantityRange range, double exampleCelsius, string or, TemperatureUnit unit) => Celsius(text, typed) switch
        {
            null => (null, $"{name} is '{text}', expected a temperature such as {Temperatures.InSentence(exampleCelsius, unit)}{or}"),
            // To the thousandth: what is typed in °F comes out a hair more or less.
            { } celsius when range.Holds(Math.Round(celsius, 3)) => (Math.Round(celsius, 3), null),
            _ => (null, $"{name} is {text} {(typed == "fahrenheit" ? "°F" : "°C")}, expected {Temperatures.Range(range, unit)}{or}"),
        };

    /// <summary>A limit as it stands in a form, with the unit it is in; to the tenth, so that it is the same when it is sent back.</summary>
    public static (string Number, string Unit) Typed(double limitCelsius, TemperatureUnit unit) => (
        Math.Round(Temperatures.In(limitCelsius, unit), 1).ToString("0.#", CultureInfo.InvariantCulture), unit == TemperatureUnit.Fahrenheit ? "fahrenheit" : "celsius");

    /// <summary>The same of a limit that may be missing; nothing where it is.</summary>
    public static string TypedOrNothing(double? limitCelsius, TemperatureUnit unit) => limitCelsius is { } celsius ? Typed(celsius, unit).Number : "";

    /// <summary>A name on the wire made of a name for people: <c>North Gate plaza</c> becomes <c>north-gate-plaza</c>.</summary>
    public static string Slug(string? name) =>
        string.Join('-', string.Concat((name ?? "").ToLowerInvariant().Select(c => char.IsAsciiLetterOrDigit(c) ? c : ' '))
            .Split(' ', StringSplitOptions.RemoveEmptyEntries));

    /// <summary>Said to who did not confirm what cannot be taken back.</summary>
    public const string NotSure = "tick the box to say that you are sure";

    /// <summary>What is wrong, as a sentence ends; some end with a question.</summary>
    public static string Sentence(string fault) => fault.EndsWith('?') ? fault : $"{fault}.";

    /// <summary>The spots whose boxes are ticked in a form.</summary>
    public static IReadOnlyList<SpotId> Chosen(IFormCollection form, IEnumerable<SpotId> spots) => [.. spots.Where(id => form.ContainsKey($"spot-{id}"))];

    /// <summary>Spots that other gateways than this one have, and whose they are.</summary>
    public static IReadOnlyDictionary<SpotId, string> OnOthers(IReadOnlyList<GatewayNow> gateways, string gateway) =>
        gateways.Where(g => g.Id != gateway).SelectMany(g => g.SpotIds.Select(spot => (spot, g.Id)))
            .DistinctBy(one => one.spot).ToDictionary(one => one.spot, one => one.Id);

    /// <summary>Whether limits set here are in use at the gateway.</summary>
    public static string Of(GatewayNow gateway) => gateway.Settings switch
    {
        SettingsStanding.InUse => "in use at the gateway",
        SettingsStanding.Refused => $"refused by the gateway: {gateway.SettingsFault}",
        _ when !gateway.Online => "sent; the gateway takes them when it connects",
        _ => "sent, not yet acknowledged",
    };
}
