using System.Security.Claims;
using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Options;
using PavementWatch.Dashboards.People;

namespace PavementWatch.Dashboards.Tests.Hosting;

/// <summary>Signs in whoever says so in a cookie; a second one says in which unit they read temperatures.</summary>
internal sealed class TestScheme(
    IOptionsMonitor<TestScheme.NoOptions> options, ILoggerFactory logger, UrlEncoder encoder)
    : AuthenticationHandler<TestScheme.NoOptions>(options, logger, encoder)
{
    protected override Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        if (Request.Cookies["role"] is not { } role)
            return Task.FromResult(AuthenticateResult.NoResult());
        Claim[] unit = Request.Cookies["unit"] is { } wanted ? [new(Account.UnitClaim, wanted)] : [];
        var who = new ClaimsPrincipal(new ClaimsIdentity([new Claim(ClaimTypes.Role, role), .. unit], Scheme.Name));
        return Task.FromResult(AuthenticateResult.Success(new AuthenticationTicket(who, Scheme.Name)));
    }

    internal sealed class NoOptions : AuthenticationSchemeOptions;
}
