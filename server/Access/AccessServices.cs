using System.Globalization;
using System.Threading.RateLimiting;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.DataProtection.KeyManagement;
using Microsoft.AspNetCore.DataProtection.Repositories;
using Microsoft.AspNetCore.RateLimiting;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Registry;

namespace PavementWatch.Server.Access;

/// <summary>Signing in by link, who may do what, and how often.</summary>
internal static class AccessServices
{
    public static IServiceCollection AddAccess(this IServiceCollection services)
    {
        services.AddOptions<AccessOptions>()
            .BindConfiguration("Access", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<AccessOptions>, AccessOptionsValidator>();
        services.AddSingleton<PublicAddress>();
        services.AddSingleton<People>();
        services.AddSingleton<FailedTries>();
        services.AddSingleton<LiveStreams>();
        services.AddProxies();
        services.HideLinkSecrets();
        services.AddHttpContextAccessor();
        services.AddAntiforgery(o => o.Cookie.Name = "pw-form");
        AddKeys(services);
        AddCookie(services);
        services.AddAuthorization(Policies.Configure);
        services.AddRateLimiter(_ => { });
        services.AddOptions<RateLimiterOptions>().Configure<IOptions<AccessOptions>>((o, access) => Limit(o, access.Value));
        return services;
    }

    private static void AddKeys(IServiceCollection services)
    {
        // Cookies must survive a restart, so their keys live in the data folder, which only its owner may read.
        services.AddDataProtection();
        services.AddOptions<KeyManagementOptions>().Configure<DataFolder, ILoggerFactory>((o, folder, logs) =>
            o.XmlRepository = new FileSystemXmlRepository(Directory.CreateDirectory(folder.File("keys")), logs));
    }

    private static void AddCookie(IServiceCollection services)
    {
        services.AddAuthentication(CookieAuthenticationDefaults.AuthenticationScheme).AddCookie();
        services.AddOptions<CookieAuthenticationOptions>(CookieAuthenticationDefaults.AuthenticationScheme)
            .Configure<IOptions<AccessOptions>, People, IServiceProvider>((o, access, people, provider) =>
            {
                o.Cookie.Name = "pw-visitor";
                o.Cookie.HttpOnly = true;
                o.Cookie.SameSite = SameSiteMode.Lax;
                o.ExpireTimeSpan = access.Value.SessionLife;
                o.SlidingExpiration = true;
                o.TimeProvider = provider.GetRequiredKeyedService<TimeProvider>(Clocks.People);
                o.Events.OnRedirectToLogin = c => Doors.RefuseAsync(c.HttpContext, StatusCodes.Status401Unauthorized);
                o.Events.OnRedirectToAccessDenied = c => Doors.RefuseAsync(c.HttpContext, StatusCodes.Status403Forbidden);
                o.Events.OnValidatePrincipal = async c =>
                {
                    if (await people.StillHoldsAsync(c.Principal!, c.HttpContext.RequestAborted))
                        return;
                    c.RejectPrincipal();
                    await c.HttpContext.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);
                };
            });
    }

    private static void Limit(RateLimiterOptions limiter, AccessOptions access)
    {
        limiter.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
        limiter.OnRejected = (c, _) =>
        {
            c.HttpContext.Response.Headers.RetryAfter = "60";
            return ValueTask.CompletedTask;
        };
        limiter.GlobalLimiter = PartitionedRateLimiter.Create<HttpContext, string>(
            http => Window(Asker(http), access.RequestsPerMinute));
    }

    private static RateLimitPartition<string> Window(string asker, int perMinute) =>
        RateLimitPartition.GetFixedWindowLimiter(
            asker, _ => new FixedWindowRateLimiterOptions { PermitLimit = perMinute, Window = TimeSpan.FromMinutes(1) });

    private static string Asker(HttpContext http) =>
        Visitor.PersonId(http.User) is { } id ? string.Create(CultureInfo.InvariantCulture, $"person {id}") : FailedTries.Address(http);
}
