using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Server.Gateways;

/// <summary>What came of asking for a code.</summary>
internal abstract record CodeOutcome
{
    private CodeOutcome()
    {
    }

    /// <summary>A code; it is shown this once.</summary>
    /// <param name="Code">As it is typed.</param>
    /// <param name="ExpiresAt">When it ends.</param>
    /// <param name="Spots">What the gateway measures once it is used.</param>
    /// <param name="Moved">Those of them that another gateway measures until then.</param>
    internal sealed record Made(string Code, DateTimeOffset ExpiresAt, IReadOnlyList<Spot> Spots, IReadOnlyList<MovedSpot> Moved) : CodeOutcome;

    /// <summary>None, and why.</summary>
    internal sealed record Refused(string Reason) : CodeOutcome;
}

/// <summary>What came of a gateway's code.</summary>
internal abstract record RedeemOutcome
{
    private RedeemOutcome()
    {
    }

    /// <summary>Good: new credentials, the way to the broker, the gateway's spots.</summary>
    internal sealed record Enrolled(GatewayId Gateway, string Password, GatewayWay Way, IReadOnlyList<Spot> Spots) : RedeemOutcome;

    /// <summary>It cannot be a code.</summary>
    internal sealed record Mistyped(string Detail) : RedeemOutcome;

    /// <summary>It may be one, but was never given out, or long ago.</summary>
    internal sealed record Unknown : RedeemOutcome;

    /// <summary>Somebody used it before.</summary>
    internal sealed record Used(DateTimeOffset At) : RedeemOutcome;

    /// <summary>Its time is over, or a newer one was made.</summary>
    internal sealed record Expired(DateTimeOffset At) : RedeemOutcome;

    /// <summary>The code is good still, but the server's settings lack something.</summary>
    internal sealed record Unready(string Detail) : RedeemOutcome;
}
