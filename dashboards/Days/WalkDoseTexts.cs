using System.Globalization;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Days;

/// <summary>What a walk's ground adds up to, in one plain sentence: a warning or a share of what hurts, never a permission.</summary>
internal static class WalkDoseTexts
{
    // A share is said by the first that it does not pass by more than the slack.
    private static readonly (double Fraction, string Words)[] Shares =
    [
        (0.08, "up to a tenth"), (0.2, "about a fifth"), (0.25, "about a quarter"), (1 / 3.0, "about a third"), (0.4, "about two fifths"),
        (0.5, "about half"), (0.6, "about three fifths"), (2 / 3.0, "about two thirds"), (0.75, "about three quarters"),
    ];

    private const double Slack = 0.02;
    private const double Nothing = 0.005;

    /// <summary>The sentence.</summary>
    /// <param name="dose">The dose.</param>
    /// <param name="dog">The dog's name.</param>
    /// <param name="timeZoneId">Times are said in this zone.</param>
    public static string Of(WalkDose dose, string dog, string timeZoneId)
    {
        var unknown = dose.Dose.IsWhole ? "" : $"nothing certain is known of the ground at {SiteTexts.Names(dose.UnknownSpots)}";
        if (dose.HurtFrom is { } at)
        {
            var (latest, rest) = dose.Dose.IsWhole ? ("", "") : (" at the latest", $"; {unknown}");
            return $"{dog}'s walk is long enough to hurt paws, from about {MomentTexts.Clock(at, timeZoneId)} on{latest}{Where(dose)}{rest}.";
        }

        if (dose.Dose.Fraction is not { } fraction)
            return $"Whether {dog}'s walk is long enough to hurt paws is unknown: {unknown}.";
        return fraction < Nothing
            ? $"{dog}'s walk takes next to nothing of the heat that hurts skin."
            // That as much time is spent at each spot is thought, not known.
            : $"{dog}'s walk takes {Share(fraction)} of the heat that hurts skin{Where(dose)}{(dose.SpotCount == 1 ? "" : " if it is as long at each spot")}.";
    }

    private static string Where(WalkDose dose) =>
        dose.HottestSpot is { } spot ? $", {(dose.SpotCount == 1 ? "" : "most ")}at {spot}" : "";

    /// <summary>Whether a walk's ground is known and has none of the heat that hurts: nothing to say where ice is what matters.</summary>
    public static bool IsNothing(WalkDose dose) => dose is { HurtFrom: null, Dose: { IsWhole: true, Fraction: < Nothing } };

    /// <summary>A share under 1 in words, then in percent.</summary>
    internal static string Share(double fraction)
    {
        var words = Array.Find(Shares, s => fraction <= s.Fraction + Slack).Words ?? "nearly all";
        // Rounded up, but what is not all of it is not said to be.
        return string.Create(CultureInfo.InvariantCulture, $"{words} ({Math.Min(99, Math.Ceiling(fraction * 100)):0} %)");
    }
}
