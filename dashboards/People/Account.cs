using System.Globalization;
using System.Security.Claims;
using PavementWatch.Core.Team;

namespace PavementWatch.Dashboards.People;

/// <summary>What a sign-in says of its bearer; the host writes these claims.</summary>
public static class Account
{
    /// <summary>Type of the claim that names the session.</summary>
    public const string SessionClaim = "session";

    /// <summary>Type of the claim that says in which unit they read temperatures.</summary>
    public const string UnitClaim = "unit";

    /// <summary>The person's number; <c>null</c> for nobody.</summary>
    public static int? PersonId(ClaimsPrincipal principal) =>
        int.TryParse(principal?.FindFirst(ClaimTypes.NameIdentifier)?.Value, NumberStyles.None, CultureInfo.InvariantCulture, out var id) ? id : null;

    /// <summary>In which unit they read temperatures; both for whoever has not chosen, and for nobody.</summary>
    public static TemperatureUnit Unit(ClaimsPrincipal? principal) =>
        Enum.TryParse<TemperatureUnit>(principal?.FindFirst(UnitClaim)?.Value, out var unit) ? unit : TemperatureUnit.Both;

    /// <summary>The session; <c>null</c> for none.</summary>
    public static Guid? Session(ClaimsPrincipal principal) =>
        Guid.TryParseExact(principal?.FindFirst(SessionClaim)?.Value, "N", out var id) ? id : null;
}
