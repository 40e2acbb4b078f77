using System.Globalization;
using System.Security.Claims;

namespace PavementWatch.Dashboards.People;

/// <summary>What a sign-in says of its bearer; the host writes these claims.</summary>
public static class Account
{
    /// <summary>Type of the claim that names the session.</summary>
    public const string SessionClaim = "session";

    /// <summary>The person's number; <c>null</c> for nobody.</summary>
    public static int? PersonId(ClaimsPrincipal principal) =>
        int.TryParse(principal?.FindFirst(ClaimTypes.NameIdentifier)?.Value, NumberStyles.None, CultureInfo.InvariantCulture, out var id) ? id : null;

    /// <summary>The session; <c>null</c> for none.</summary>
    public static Guid? Session(ClaimsPrincipal principal) =>
        Guid.TryParseExact(principal?.FindFirst(SessionClaim)?.Value, "N", out var id) ? id : null;
}
