namespace PavementWatch.Core.Alerts;

/// <summary>What stands at a spot, with what is known of its ground now.</summary>
/// <param name="Side">Whether it is of heat or of cold; of the cold <see cref="StandingWarning.TooHot"/> means at or under its limit.</param>
/// <param name="Warning">What stands.</param>
/// <param name="Since">Since when, UTC.</param>
/// <param name="LimitCelsius">[°C] The side's limit.</param>
/// <param name="SurfaceCelsius">[°C] The ground, where it is measured.</param>
/// <param name="UpperCelsius">[°C] The estimate's upper end, where it is not measured; of the cold its lower end.</param>
public sealed record StandingAlert(
    AlertSide Side, StandingWarning Warning, DateTimeOffset Since, double LimitCelsius, double? SurfaceCelsius, double? UpperCelsius)
{
    /// <summary>Of the cold: whether it is known that the ground may not be icy, see <see cref="Contact.IceMemory"/>.</summary>
    public bool HasNoIce { get; init; }
}
