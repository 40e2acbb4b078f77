using PavementWatch.Core.Contact;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Alerts;

/// <summary>What readings and the estimate say of ice; see <see cref="IceMemory"/>.</summary>
public static class IceSteps
{
    private const Doubt OfAnotherPlaceOrTime = Doubt.Clock | Doubt.OutOfRange | Doubt.CheckByte;

    /// <summary>Takes one input.</summary>
    /// <param name="ice">What is remembered.</param>
    /// <param name="input">What happened.</param>
    /// <param name="isQuiet">Whether no good reading says how the spot is now; else the estimate is not asked.</param>
    /// <param name="rule">The spot's rule.</param>
    /// <returns>What to remember.</returns>
    public static IceMemory After(IceMemory ice, AlertInput input, bool isQuiet, AlertRule rule)
    {
        ArgumentNullException.ThrowIfNull(ice);
        ArgumentNullException.ThrowIfNull(input);
        ArgumentNullException.ThrowIfNull(rule);
        return input switch
        {
            Measured { Reading: var reading } when rule.IsCurrent(reading.MeasuredAt, input.Now) && SightOf(reading) is { } sight => ice.After(sight, rule.LongestIceGap),
            Estimated { Current: var estimate } when isQuiet => ice.After(
                new GroundSight(input.Now, estimate.LowerCelsius, GroundEvidence.Estimated) { Wet = estimate.Doubt.HasFlag(EstimateDoubt.MaybeWet) }, rule.LongestIceGap),
            _ => ice.Unseen(input.Now),
        };
    }

    /// <summary>What a reading says of ice.</summary>
    /// <param name="reading">The reading.</param>
    /// <returns><c>null</c> where it says nothing: it has no surface, was rejected, or is doubted for where or when it was taken or for a leap alone.</returns>
    public static GroundSight? SightOf(Reading reading)
    {
        ArgumentNullException.ThrowIfNull(reading);
        if (reading is { SurfaceCelsius: null } or { Quality: ReadingQuality.Rejected })
            return null;
        if (reading.Quality == ReadingQuality.Suspect && (reading.Doubt == Doubt.Spike || (reading.Doubt & OfAnotherPlaceOrTime) != Doubt.None))
            return null;
        return new GroundSight(reading.MeasuredAt, reading.SurfaceCelsius.Value, reading.Quality == ReadingQuality.Good ? GroundEvidence.Good : GroundEvidence.Doubtful)
        {
            AirCelsius = reading.AirCelsius,
            HumidityPercent = reading.HumidityPercent,
            Wet = reading.Doubt.HasFlag(Doubt.Wet),
        };
    }
}
