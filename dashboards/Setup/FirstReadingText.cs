using PavementWatch.Core.Readings;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Setup;

/// <summary>Whether a reading makes sense, in plain words.</summary>
internal static class FirstReadingText
{
    // Beyond the 90 % interval by more than this no shade or breeze explains it. Our choice.
    private const double FarKelvin = 6;

    /// <summary>The verdict and, where there is a doubt, what to look at.</summary>
    public static (bool Good, string Text) Of(FirstLook look, TemperatureUnit unit)
    {
        var (good, text) = OfReading(look, unit);
        return look.IsCurrent ? (good, text) : (false, $"It is not of now: nothing newer has arrived. Is the gateway running and connected? {text}");
    }

    private static (bool Good, string Text) OfReading(FirstLook look, TemperatureUnit unit)
    {
        if (look.Reading.Quality == ReadingQuality.Rejected)
            return (false, $"The reading was rejected: {DoubtTexts.Of(look.Reading.Doubt)}. Run 'gateway check' at the gateway; it names the probe and the remedy.");
        if (look.Reading.SurfaceCelsius is not { } surface)
            return (false, "It has no surface temperature. Run 'gateway check' at the gateway: is the surface probe named for this spot?");
        var doubt = look.Reading.Quality == ReadingQuality.Suspect ? $" It is in doubt: {DoubtTexts.Of(look.Reading.Doubt)}." : "";
        if (look is not { LowerCelsius: { } lower, UpperCelsius: { } upper })
            return (false, $"It cannot be judged: no air temperature is known here.{doubt} Name an air probe for this spot, or give it the site of a spot that has one.");
        var expected = $"Air and sun explain {Temperatures.Interval(lower, upper, unit)}";
        return (surface - upper, lower - surface) switch
        {
            ( > FarKelvin, _) => (false, $"{expected}; this is {Differences.Whole(surface - upper, unit)} above. Does the probe see metal, an exhaust or a wall in the sun? Is the kind of ground right?{doubt}"),
            (_, > FarKelvin) => (false, $"{expected}; this is {Differences.Whole(lower - surface, unit)} below. Is the ground there in shade or wet, does the probe see the sky, is the kind of ground right?{doubt}"),
            ( > 0, _) or (_, > 0) => (false, $"{expected}; this is just outside. Look again in an hour, and hold a thermometer against it.{doubt}"),
            _ => (doubt.Length == 0, $"{expected}: it makes sense.{doubt}"),
        };
    }
}
