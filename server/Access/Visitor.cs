using System.Globalization;
using System.Security.Claims;
using Microsoft.AspNetCore.Authentication.Cookies;
using PavementWatch.Server.Registry.Rows;

namespace PavementWatch.Server.Access;

/// <summary>What the sign-in cookie says of its bearer.</summary>
internal static class Visitor
{
    /// <summary>Role of somebody who came by an owner's link.</summary>
    public const string Owner = nameof(Owner);

    private const string OwnerLinkClaim = "owner-link";
    private const string DogClaim = "dog";

    public static ClaimsPrincipal Of(PersonRow person) => With(
        new Claim(ClaimTypes.NameIdentifier, Text(person.Id)),
        new Claim(ClaimTypes.Name, person.Name),
        new Claim(ClaimTypes.Role, person.Role.ToString()));

    public static ClaimsPrincipal Of(OwnerLinkRow link) => With(
        new Claim(ClaimTypes.Role, Owner),
        new Claim(OwnerLinkClaim, Text(link.Id)),
        new Claim(DogClaim, Text(link.DogId)));

    /// <summary>The person, or <c>null</c> for an owner or nobody.</summary>
    public static int? PersonId(ClaimsPrincipal principal) => Number(principal, ClaimTypes.NameIdentifier);

    public static int? OwnerLinkId(ClaimsPrincipal principal) => Number(principal, OwnerLinkClaim);

    /// <summary>The owner's dog, or <c>null</c> for a person or nobody.</summary>
    public static int? DogId(ClaimsPrincipal principal) => Number(principal, DogClaim);

    private static ClaimsPrincipal With(params Claim[] claims) =>
        new(new ClaimsIdentity(claims, CookieAuthenticationDefaults.AuthenticationScheme));

    private static string Text(int id) => id.ToString(CultureInfo.InvariantCulture);

    private static int? Number(ClaimsPrincipal principal, string claim) =>
        int.TryParse(principal.FindFirstValue(claim), NumberStyles.None, CultureInfo.InvariantCulture, out var id) ? id : null;
}
