using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Threading.RateLimiting;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.DataProtection.KeyManagement;
using Microsoft.AspNetCore.DataProtection.Repositories;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.RateLimiting;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Api;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.People;

namespace PavementWatch.Server.Access;

/// <summary>Signing in by link or passkey, who may do what, and how often.</summary>
internal static class AccessServices
{
    // A session's row says how long it lasts. The cookie must not end before it by a clock that may be wrong.
    private static readonly TimeSpan CookieLife = TimeSpan.FromDays(20 * 365);

    private static readonly TimeSpan PasskeyPatience = TimeSpan.FromMinutes(5);

    public static IServiceCollection AddAccess(this IServiceCollection services)
    {
        services.AddOptions<AccessOptions>()
            .BindConfiguration("Access", b => b.ErrorOnUnknownConfiguration = true)
            .ValidateOnStart();
        services.AddSingleton<IValidateOptions<AccessOptions>, AccessOptionsValidator>();
        services.AddSingleton<PublicAddress>();
        services.AddSingleton<FailedTries>();
        services.AddProxies();
        services.HideLinkSecrets();
        services.AddHttpContextAccessor();
        services.AddExceptionHandler<StorageFaults>();
        services.AddAntiforgery();
        // Browsers tell no ports apart: of another server of this machine, or of the demo before, it could not be read.
        services.AddOptions<AntiforgeryOptions>().Configure<DataFolder>((o, folder) =>
            o.Cookie.Name = $"pw-form-{Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(folder.Path)))[..8]}");
        AddKeys(services);
        AddUsers(services);
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

    private static void AddUsers(IServiceCollection services)
    {
        services.AddSingleton<ILookupNormalizer, ExactNames>();
        services.AddIdentityCore<PersonRow>(o => o.User.AllowedUserNameCharacters = "")
            .AddEntityFrameworkStores<RegistryDb>()
            .AddSignInManager()
            .AddTokenProvider<LinkTokenProvider>(LinkTokenProvider.Name);
        services.Configure<IdentityPasskeyOptions>(o =>
        {
            // Found on the phone without a name being typed.
            o.ResidentKeyRequirement = "required";
            o.UserVerificationRequirement = "preferred";
            o.AuthenticatorTimeout = PasskeyPatience;
        });
    }

    private static void AddCookie(IServiceCollection services)
    {
        services.AddAuthentication(CookieAuthenticationDefaults.AuthenticationScheme).AddCookie()
            // What was asked of a phone, until it answers.
            .AddCookie(IdentityConstants.TwoFactorUserIdScheme);
        services.AddOptions<CookieAuthenticationOptions>(IdentityConstants.TwoFactorUserIdScheme)
            .Configure<IServiceProvider>((o, provider) =>
            {
                o.Cookie.Name = "pw-passkey";
                o.ExpireTimeSpan = PasskeyPatience;
                o.TimeProvider = provider.GetRequiredKeyedService<TimeProvider>(Clocks.People);
            });
        services.AddOptions<CookieAuthenticationOptions>(CookieAuthenticationDefaults.AuthenticationScheme)
            .Configure<Sessions, IServiceProvider>((o, sessions, provider) =>
            {
                o.Cookie.Name = "pw-visitor";
                o.Cookie.HttpOnly = true;
                o.Cookie.SameSite = SameSiteMode.Lax;
                o.ExpireTimeSpan = CookieLife;
                o.SlidingExpiration = false;
                o.TimeProvider = provider.GetRequiredKeyedService<TimeProvider>(Clocks.People);
                o.Events.OnRedirectToLogin = c => EntryEndpoints.RefuseAsync(c.HttpContext, StatusCodes.Status401Unauthorized);
                o.Events.OnRedirectToAccessDenied = c => EntryEndpoints.RefuseAsync(c.HttpContext, StatusCodes.Status403Forbidden);
                o.Events.OnValidatePrincipal = c => ValidateAsync(c, sessions);
            });
    }

    private static async Task ValidateAsync(CookieValidatePrincipalContext context, Sessions sessions)
    {
        var (standing, unit) = await sessions.LookAsync(context.Principal!, context.HttpContext.RequestAborted);
        Visitor.Tell(context.Principal!, unit);
        switch (standing)
        {
            case SessionStanding.Holds:
                return;
            case SessionStanding.HoldsAnew:
                context.ShouldRenew = true;
                return;
            case SessionStanding.Late:
                context.RejectPrincipal();
                return;
            default:
                context.RejectPrincipal();
                await context.HttpContext.SignOutAsync(CookieAuthenticationDefaults.AuthenticationScheme);
                return;
        }
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
