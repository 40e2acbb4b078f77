namespace PavementWatch.Gateway.Gpio;

/// <summary>Tells a held button from a touched or bouncing one. Has no clock: it is told the elapsed time.</summary>
/// <param name="hold">How long it must be held without a break.</param>
internal sealed class ServiceButton(TimeSpan hold)
{
    private TimeSpan? _since;
    private bool _said;

    /// <summary>Looks at the button.</summary>
    /// <param name="pressed">Whether it is down.</param>
    /// <param name="elapsed">Since some fixed moment; rises.</param>
    /// <returns>Whether it has just been held long enough; once a hold.</returns>
    public bool Look(bool pressed, TimeSpan elapsed)
    {
        if (!pressed)
        {
            _since = null;
            _said = false;
            return false;
        }

        _since ??= elapsed;
        if (_said || elapsed - _since < hold)
            return false;
        _said = true;
        return true;
    }
}
