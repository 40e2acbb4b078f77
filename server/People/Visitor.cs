using System.Globalization;
using System.Security.Claims;
using Microsoft.AspNetCore.Authentication.Cookies;
using PavementWatch.Dashboards.People;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.People;

/// <summary>What the sign-in cookie says of its bearer.</summary>
internal static class Visitor
{
    public static ClaimsPrincipal Of(PersonRow person, params IEnumerable<Claim> more) => new(new ClaimsIdentity(
        [
            new Claim(ClaimTypes.NameIdentifier, person.Id.ToString(CultureInfo.InvariantCulture)),
            new Claim(ClaimTypes.Name, person.Name),
            new Claim(ClaimTypes.Role, person.Role.ToString()),
            .. more,
        ],
        CookieAuthenticationDefaults.AuthenticationScheme));

    /// <summary>Says in which unit the bearer of a cookie reads temperatures, for this request; it may differ from when the cookie was written.</summary>
    public static void Tell(ClaimsPrincipal principal, TemperatureUnit unit)
    {
        var identity = (ClaimsIdentity)principal.Identity!;
        foreach (var old in identity.FindAll(Account.UnitClaim).ToList())
            identity.RemoveClaim(old);
        if (unit != TemperatureUnit.Both)
            identity.AddClaim(new Claim(Account.UnitClaim, unit.ToString()));
    }

    /// <summary>The person, or <c>null</c> for nobody.</summary>
    public static int? PersonId(ClaimsPrincipal principal) => Account.PersonId(principal);
}
