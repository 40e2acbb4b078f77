using System.Security.Claims;

namespace PavementWatch.Dashboards.Spots;

/// <summary>What of alerts there is for a visitor.</summary>
/// <param name="HasWalks">Whether a walk of theirs is still to come or under way: its spots are told by themselves.</param>
/// <param name="GonePhones">When the push service of a phone of theirs gave it up, UTC; one for each that has not subscribed again.</param>
public sealed record VisitorAlerts(bool HasWalks, IReadOnlyList<DateTimeOffset> GonePhones);

/// <summary>What of alerts there is for a visitor, as their page says it.</summary>
public interface IVisitorAlerts
{
    /// <summary>Looks it up.</summary>
    /// <param name="visitor">Who looks at the page.</param>
    /// <param name="cancellationToken">Stops.</param>
    Task<VisitorAlerts> OfAsync(ClaimsPrincipal visitor, CancellationToken cancellationToken);
}

/// <summary>Until a server knows of phones and walks, there are none.</summary>
internal sealed class NoVisitorAlerts : IVisitorAlerts
{
    public Task<VisitorAlerts> OfAsync(ClaimsPrincipal visitor, CancellationToken cancellationToken) => Task.FromResult(new VisitorAlerts(false, []));
}
