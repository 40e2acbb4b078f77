namespace PavementWatch.Core.Alerts;

/// <summary>What stands at a spot, and for whom that is news. Heat and cold stand each for itself.</summary>
public static class StandingAlerts
{
    /// <summary>What stands at a spot.</summary>
    /// <param name="memory">What is remembered of it.</param>
    /// <param name="side">Of heat or of cold.</param>
    /// <returns>What somebody who comes to it has to hear.</returns>
    public static StandingWarning Of(AlertMemory memory, AlertSide side)
    {
        ArgumentNullException.ThrowIfNull(memory);
        if (side == AlertSide.Cold)
            return memory.Cold is { } cold ? Of(cold) : StandingWarning.None;
        return Of(memory);
    }

    /// <summary>What stands at a spot, with what is known of its ground now.</summary>
    /// <param name="memory">What is remembered of it.</param>
    /// <param name="side">Of heat or of cold.</param>
    /// <param name="limitCelsius">[°C] The side's limit.</param>
    /// <param name="surfaceCelsius">[°C] The ground, where it is measured.</param>
    /// <param name="endCelsius">[°C] The estimate's upper end, of the cold its lower end, where it is not measured.</param>
    /// <returns><c>null</c> where nothing of the side stands.</returns>
    public static StandingAlert? Find(AlertMemory memory, AlertSide side, double limitCelsius, double? surfaceCelsius, double? endCelsius) =>
        Of(memory, side) is var warning and not StandingWarning.None
            ? new(side, warning, side == AlertSide.Cold ? memory.Cold!.Since : memory.Since, limitCelsius, surfaceCelsius, endCelsius)
            {
                HasNoIce = side == AlertSide.Cold && memory.Ice is { MayBeIcy: false },
            }
            : null;

    /// <summary>Whether it is news for a device of somebody the spot concerns now.</summary>
    /// <param name="standing">What stands.</param>
    /// <param name="told">What became of the message of it to this device.</param>
    /// <returns>Each device is told once; one whose message was too old before it could be sent, or before it showed it, is told what stands instead.</returns>
    public static bool IsNews(StandingWarning standing, ToldMessage told) =>
        standing != StandingWarning.None && told is (ToldMessage.None or ToldMessage.Expired or ToldMessage.Unshown);

    private static StandingWarning Of(AlertMemory memory) => (memory.State, memory.Hot) switch
    {
        (AlertState.Rising, _) => StandingWarning.Rising,
        (AlertState.TooHot, _) => StandingWarning.TooHot,
        (AlertState.Easing, HotEpisode.Estimated or HotEpisode.Measured) => StandingWarning.Easing,
        (AlertState.Silent, HotEpisode.Measured) => StandingWarning.SilentHot,
        (AlertState.Silent, HotEpisode.Estimated) => StandingWarning.Estimated,
        _ => StandingWarning.None,
    };
}
