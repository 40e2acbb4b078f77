namespace PavementWatch.Core.Wire;

/// <summary>One record that is not as RFC 8428 wants it; the rest of its pack is still good.</summary>
/// <param name="Position">Place in the pack, counted from 0.</param>
/// <param name="Name">The name it would have had, legal or not.</param>
/// <param name="UnixSeconds">[s] The time it would have had; NaN when that cannot be said.</param>
/// <param name="WasRelative">Whether that time was given relative to "now".</param>
/// <param name="Field">The label at fault.</param>
/// <param name="Found">What stood there.</param>
/// <param name="Expected">What should have.</param>
public sealed record SenMlFault(
    int Position, string Name, double UnixSeconds, bool WasRelative, string Field, string Found, string Expected);
