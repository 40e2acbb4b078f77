namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>What a browser remembers of its device, for a server that does not know it any more.</summary>
/// <param name="Spots">Spots it showed as followed; unknown ones are passed over.</param>
/// <param name="Replaces">Endpoint that its push service gave it before; <c>null</c> when it has the same still.</param>
internal sealed record RememberedFollows(IReadOnlyList<string> Spots, string? Replaces)
{
    public static readonly RememberedFollows None = new([], null);
}
