using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Buses;

/// <summary>
/// A frame failed its check. Thrown through a binding, which has no other way to be kept from using the bytes, and
/// turned into <see cref="ReadOutcome.Rejected"/> by the <see cref="Probe"/>.
/// </summary>
internal sealed class RefusedFrameException(RejectReason reason, string detail) : Exception(detail)
{
    /// <summary>Why.</summary>
    public RejectReason Reason { get; } = reason;
}
