using System.Text.Json;
using PavementWatch.Core.Contact;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;
using DoubtWords = PavementWatch.Core.Readings.Doubts;

namespace PavementWatch.Dashboards.Spots;

/// <summary>A <see cref="SpotNow"/> as <c>/api/spots</c> and <c>/api/live</c> send it; serialise with the web defaults (camel case).</summary>
/// <remarks>
/// Enums are camel-case names (<c>tooHot</c>), the surface kind its kebab-case name (<c>concrete-pale</c>), spans are
/// seconds; <c>Now</c> is the server's clock when this was made.
/// </remarks>
public sealed record SpotNowJson(
    string Id, string Name, string Site, string Surface, double LatitudeDegrees, double LongitudeDegrees,
    string TimeZoneId, double LimitCelsius, double RadiusMeters, string Word, string State, DateTimeOffset Now)
{
    /// <summary>[°C] At and under this walkers are told of the cold.</summary>
    public double ColdLimitCelsius { get; init; }

    /// <summary>[°C] Surface, measured or estimated.</summary>
    public double? SurfaceCelsius { get; init; }

    /// <summary>[°C] Air.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>Whether the surface is an estimate.</summary>
    public bool Estimated { get; init; }

    /// <summary>[°C] Lower end of the estimate's 90 % interval.</summary>
    public double? LowerCelsius { get; init; }

    /// <summary>[°C] Upper end of the estimate's 90 % interval.</summary>
    public double? UpperCelsius { get; init; }

    /// <summary>When the last good reading was taken, UTC.</summary>
    public DateTimeOffset? MeasuredAt { get; init; }

    /// <summary>[s] Age of that reading at <see cref="Now"/>; a phone with a wrong clock counts on from here.</summary>
    public double? AgeSeconds { get; init; }

    /// <summary>Whether it may be icy.</summary>
    public bool MayBeIcy { get; init; }

    /// <summary>[s] After how long skin is hurt, capped at 600.</summary>
    public double? ContactSeconds { get; init; }

    /// <summary>Doubts about the newest reading, e.g. <c>spike</c>, <c>sensor-heating</c>; empty when there are none.</summary>
    public IReadOnlyList<string> Doubts { get; init; } = [];

    /// <summary>Why the estimate may be further off than its interval says: <c>handbookOnly</c>, <c>maybeWet</c>, <c>hotterThanSeen</c>, <c>colderThanSeen</c>, <c>airGuessed</c>; empty when there is no doubt or it is measured.</summary>
    public IReadOnlyList<string> EstimateDoubts { get; init; } = [];

    /// <summary>Why the state is what it is, in the unit of whoever it is sent to.</summary>
    public string Because { get; init; } = "";

    /// <summary>The same for people, so that no script has to say it a second time.</summary>
    public required SpotTexts Texts { get; init; }

    /// <summary>Makes it for one person.</summary>
    /// <param name="spot">The spot; the same for everybody.</param>
    /// <param name="unit">Who reads its words wants this.</param>
    public static SpotNowJson Of(SpotNow spot, TemperatureUnit unit)
    {
        ArgumentNullException.ThrowIfNull(spot);
        return new(
            spot.Id.Value, spot.Name, spot.Site, SurfaceKinds.Slug(spot.Surface), spot.LatitudeDegrees, spot.LongitudeDegrees,
            spot.TimeZoneId, spot.LimitCelsius, spot.RadiusMeters,
            NameOf(spot.Word), NameOf(spot.State), spot.Now)
        {
            ColdLimitCelsius = spot.ColdLimitCelsius,
            SurfaceCelsius = spot.SurfaceCelsius,
            AirCelsius = spot.AirCelsius,
            Estimated = spot.Estimated,
            LowerCelsius = spot.LowerCelsius,
            UpperCelsius = spot.UpperCelsius,
            MeasuredAt = spot.MeasuredAt,
            AgeSeconds = (spot.Now - spot.MeasuredAt)?.TotalSeconds,
            MayBeIcy = spot.MayBeIcy,
            ContactSeconds = spot.ContactTime?.TotalSeconds,
            Doubts = DoubtWords.Text(spot.Doubt).Split(',', StringSplitOptions.RemoveEmptyEntries),
            EstimateDoubts = EstimateDoubtTexts.Names(spot.EstimateDoubt),
            Because = CardText.Because(spot, unit),
            Texts = new(GroundWords.Text(spot.Word), CardText.Touch(spot, unit), CardText.Degrees(spot, unit), CardText.Range(spot, unit), EstimateDoubtTexts.Of(spot.EstimateDoubt)),
        };
    }

    private static string NameOf<T>(T value) where T : struct, Enum => JsonNamingPolicy.CamelCase.ConvertName(value.ToString());
}

/// <summary>What a card says of a spot that does not change with the passing of time.</summary>
/// <param name="Word">E.g. <c>too hot</c>.</param>
/// <param name="Touch">After how long skin is hurt, what to mind in the cold, or what to do when nobody knows.</param>
/// <param name="Degrees">The ground; marked where estimated.</param>
/// <param name="Range">The estimate's interval and the doubt about the newest reading; empty when there is neither.</param>
/// <param name="Doubt">Why the estimate may be further off than the interval says; empty when there is no reason.</param>
public sealed record SpotTexts(string Word, string Touch, string Degrees, string Range, string Doubt);
