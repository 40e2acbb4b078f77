using System.Security.Claims;
using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Authentication;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Options;

namespace PavementWatch.Dashboards.Tests.Hosting;

/// <summary>Signs in whoever says so in a cookie.</summary>
internal sealed class TestScheme(
    IOptionsMonitor<TestScheme.NoOptions> options, ILoggerFactory logger, UrlEncoder encoder)
    : AuthenticationHandler<TestScheme.NoOptions>(options, logger, encoder)
{
    protected override Task<AuthenticateResult> HandleAuthenticateAsync()
    {
        if (Request.Cookies["role"] is not { } role)
            return Task.FromResult(AuthenticateResult.NoResult());
        var who = new ClaimsPrincipal(new ClaimsIdentity([new Claim(ClaimTypes.Role, role)], Scheme.Name));
        return Task.FromResult(AuthenticateResult.Success(new AuthenticationTicket(who, Scheme.Name)));
    }

    internal sealed class NoOptions : AuthenticationSchemeOptions;
}
