namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>How one attempt to send ended.</summary>
internal abstract record SendOutcome
{
    /// <summary>It was taken.</summary>
    public sealed record Taken : SendOutcome;

    /// <summary>The subscription is dead; it should be forgotten.</summary>
    public sealed record Gone(string Detail) : SendOutcome;

    /// <summary>It is forbidden, for now: the fault may be this server's clock, key or name; some push services say so of a dead subscription.</summary>
    public sealed record Forbidden(string Detail) : SendOutcome;

    /// <summary>Worth another try, not before <paramref name="After"/> where the receiver named a pause.</summary>
    public sealed record TryLater(string Detail, TimeSpan? After) : SendOutcome;

    /// <summary>Trying again makes no sense.</summary>
    public sealed record Refused(string Detail) : SendOutcome;
}
