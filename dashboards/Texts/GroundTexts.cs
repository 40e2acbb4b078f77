using System.Globalization;
using PavementWatch.Core.Alerts;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.Texts;

/// <summary>
/// A temperature of the ground as people read it: rounded, and on the side of every threshold on which it is. A limit of 49 °C
/// reads 120 °F, and so would ground of 48.8 °C by plain rounding; it reads 119 °F. <c>ground</c> in <c>wwwroot/js/text.js</c> does the same.
/// </summary>
/// <remarks>It costs a degree and a half of Fahrenheit at most, and only just under a limit; about what the sensor may be off by.</remarks>
public static class GroundTexts
{
    // Keeps 490 tenths from being 489.99999.
    private const double Hair = 1e-6;

    /// <summary>For a card, e.g. <c>57.3 °C · 135 °F</c>.</summary>
    /// <param name="celsius">[°C] The ground.</param>
    /// <param name="limitCelsius">[°C] The spot's limit; freezing and the burn threshold hold everywhere.</param>
    /// <param name="unit">Who reads it wants this.</param>
    public static string Of(double celsius, double limitCelsius, TemperatureUnit unit) => string.Join(" · ", Lines(celsius, limitCelsius, unit));

    /// <summary>Each unit by itself: <c>57.3 °C</c>, <c>135 °F</c>.</summary>
    public static IEnumerable<string> Lines(double celsius, double limitCelsius, TemperatureUnit unit)
    {
        var thresholds = OfSpot(limitCelsius);
        if (unit != TemperatureUnit.Fahrenheit)
            yield return Celsius(celsius, thresholds, 0.1, "0.0");
        if (unit != TemperatureUnit.Celsius)
            yield return Fahrenheit(celsius, thresholds);
    }

    /// <summary>For use inside a sentence, e.g. <c>57.3 °C (135 °F)</c>.</summary>
    public static string InSentence(double celsius, double limitCelsius, TemperatureUnit unit)
    {
        var thresholds = OfSpot(limitCelsius);
        return Temperatures.InSentence(Celsius(celsius, thresholds, 0.1, "0.#"), Fahrenheit(celsius, thresholds), unit);
    }

    /// <summary>For an alert, in whole degrees: <c>52 °C (126 °F)</c>.</summary>
    /// <param name="celsius">[°C] The ground.</param>
    /// <param name="side">Whether the alert is of heat or of cold.</param>
    /// <param name="limitCelsius">[°C] Its limit; of heat also the burn threshold holds, of cold freezing.</param>
    /// <param name="unit">Who reads it wants this.</param>
    public static string InAlert(double celsius, AlertSide side, double limitCelsius, TemperatureUnit unit)
    {
        Threshold[] thresholds = side == AlertSide.Cold
            ? [new(limitCelsius, true), new(GroundWords.FreezingUpToCelsius, true)]
            : [new(limitCelsius, false), new(GroundWords.BurnsFromCelsius, false)];
        return Temperatures.InSentence(Celsius(celsius, thresholds, 1, "0"), Fahrenheit(celsius, thresholds), unit);
    }

    private static Threshold[] OfSpot(double limitCelsius) =>
        [new(limitCelsius, false), new(GroundWords.BurnsFromCelsius, false), new(GroundWords.FreezingUpToCelsius, true)];

    private static string Celsius(double celsius, Threshold[] thresholds, double step, string format) =>
        $"{Beside(celsius, celsius, step, thresholds, t => Math.Round(t, 1, MidpointRounding.AwayFromZero)).ToString(format, CultureInfo.InvariantCulture)} °C";

    private static string Fahrenheit(double celsius, Threshold[] thresholds) => string.Create(
        CultureInfo.InvariantCulture,
        $"{Beside(celsius, Temperatures.ToFahrenheit(celsius), 1, thresholds, t => Math.Round(Temperatures.ToFahrenheit(t), MidpointRounding.AwayFromZero)):0} °F");

    /// <summary>Degrees in whole steps, none of them across a threshold as that one is shown.</summary>
    private static double Beside(double celsius, double degrees, double step, Threshold[] thresholds, Func<double, double> shown)
    {
        var steps = Math.Round(degrees / step, MidpointRounding.AwayFromZero);
        foreach (var (threshold, isOfCold) in thresholds)
        {
            var edge = shown(threshold) / step;
            steps = (isOfCold, GroundWords.IsAt(isOfCold ? -celsius : celsius, isOfCold ? -threshold : threshold)) switch
            {
                (false, true) => Math.Max(steps, Math.Ceiling(edge - Hair)),
                (false, false) => Math.Min(steps, Math.Ceiling(edge - Hair) - 1),
                (true, true) => Math.Min(steps, Math.Floor(edge + Hair)),
                (true, false) => Math.Max(steps, Math.Floor(edge + Hair) + 1),
            };
        }

        // Adding 0 makes 0 of -0, which would read "-0".
        return Math.Round(steps * step, 1) + 0.0;
    }

    private readonly record struct Threshold(double Celsius, bool IsOfCold);
}
