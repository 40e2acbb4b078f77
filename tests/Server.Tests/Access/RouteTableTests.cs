using System.Net;
using System.Net.Http.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.StaticAssets;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.People;
using PavementWatch.Server.Positions;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Walks;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Access;

/// <summary>Every route of the running server, asked by everybody: who gets in stands here, and a route that stands here not fails.</summary>
public sealed class RouteTableTests
{
    /// <summary>Who passes; each role passes where an earlier one does, but for what is everybody's.</summary>
    private enum Who
    {
        Everybody,
        Team,
        Analysts,
        Business,

        /// <summary>Everybody, but only with a secret of its own; a guessed one is refused.</summary>
        WithSecret,
    }

    private static readonly Dictionary<string, Who> Table = new()
    {
        ["ANY /health/live"] = Who.Everybody,
        ["ANY /health/ready"] = Who.Everybody,
        ["GET /kept-files.json"] = Who.Everybody,
        ["GET /offline"] = Who.Everybody,
        ["POST /offline"] = Who.Everybody,
        ["GET /openapi/{documentName}.json"] = Who.Everybody,
        ["POST /leave"] = Who.Everybody,
        ["POST /api/passkeys/ask"] = Who.Everybody,
        ["GET /enter/{token}"] = Who.WithSecret,
        ["POST /enter/{token}"] = Who.WithSecret,
        ["GET /set-up/{token}"] = Who.WithSecret,
        ["POST /set-up/{token}"] = Who.WithSecret,
        ["GET /o/{Token}"] = Who.WithSecret,
        ["POST /o/{Token}"] = Who.WithSecret,
        ["POST /api/enrol"] = Who.WithSecret,
        ["POST /api/push/receipts/{id:guid}"] = Who.WithSecret,
        ["POST /api/passkeys/enter"] = Who.WithSecret,
        ["GET /"] = Who.Team,
        ["POST /"] = Who.Team,
        ["GET /spots/{Id}"] = Who.Team,
        ["POST /spots/{Id}"] = Who.Team,
        ["GET /me"] = Who.Team,
        ["POST /me"] = Who.Team,
        ["GET /checks/new"] = Who.Team,
        ["POST /checks/new"] = Who.Team,
        ["GET /checks/import"] = Who.Team,
        ["POST /checks/import"] = Who.Team,
        ["GET /checks/export.csv"] = Who.Team,
        ["GET /api/spots"] = Who.Team,
        ["GET /api/live"] = Who.Team,
        ["GET /api/spots/{id}/day"] = Who.Team,
        ["GET /api/push/key"] = Who.Team,
        ["POST /api/push/subscriptions"] = Who.Team,
        ["DELETE /api/push/subscriptions"] = Who.Team,
        ["DELETE /api/push/gone"] = Who.Team,
        ["POST /api/position/"] = Who.Team,
        ["DELETE /api/position/"] = Who.Team,
        ["POST /api/passkeys/offer"] = Who.Team,
        ["POST /api/passkeys/"] = Who.Team,
        ["GET /analyst"] = Who.Analysts,
        ["POST /analyst"] = Who.Analysts,
        ["GET /analyst/backtest"] = Who.Analysts,
        ["POST /analyst/backtest"] = Who.Analysts,
        ["GET /analyst/backtest/{Id:guid}"] = Who.Analysts,
        ["POST /analyst/backtest/{Id:guid}"] = Who.Analysts,
        ["GET /analyst/spots/{Id}"] = Who.Analysts,
        ["POST /analyst/spots/{Id}"] = Who.Analysts,
        ["GET /api/backtests/{id:guid}"] = Who.Analysts,
        ["GET /api/backtests/{id:guid}/report.json"] = Who.Analysts,
        ["PUT /api/weather/"] = Who.Analysts,
        ["PUT /api/weather/{site}"] = Who.Analysts,
        ["GET /business"] = Who.Business,
        ["POST /business"] = Who.Business,
        ["GET /business/add-spot"] = Who.Business,
        ["POST /business/add-spot"] = Who.Business,
        ["GET /business/enrol"] = Who.Business,
        ["POST /business/enrol"] = Who.Business,
        ["GET /business/spots/{Id}"] = Who.Business,
        ["POST /business/spots/{Id}"] = Who.Business,
        ["GET /business/spots/{Id}/edit"] = Who.Business,
        ["POST /business/spots/{Id}/edit"] = Who.Business,
        ["GET /business/gateways/{Id}"] = Who.Business,
        ["POST /business/gateways/{Id}"] = Who.Business,
        ["GET /business/people"] = Who.Business,
        ["POST /business/people"] = Who.Business,
        ["GET /business/people/{Id:int}"] = Who.Business,
        ["POST /business/people/{Id:int}"] = Who.Business,
    };

    private static readonly HttpStatusCode[] Refused =
        [HttpStatusCode.Unauthorized, HttpStatusCode.Forbidden, HttpStatusCode.NotFound, HttpStatusCode.BadRequest];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static Uri At(string path) => new(path, UriKind.Relative);

    [Fact]
    public async Task Each_route_is_open_to_those_it_is_for_and_shut_to_all_others()
    {
        await using var server = await StartAsync();
        var pickle = await DogAsync(server);
        using var nobody = server.Browser();
        using var owner = server.Browser();
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(owner, HttpMethod.Get, $"/o/{await server.Get<PersonStore>().NewOwnerTokenAsync(pickle, TimeSpan.FromDays(1), Cancel)}"));
        using var walker = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var analyst = await server.BrowserOfAsync(Role.Analyst, "Odile");
        using var business = await server.BrowserOfAsync(Role.Business, "Ferngate Walks");
        (string Name, HttpClient Browser, Func<Who, bool> Passes)[] visitors =
        [
            ("nobody", nobody, w => w is Who.Everybody),
            ("owner", owner, w => w is Who.Everybody),
            ("walker", walker, w => w is Who.Everybody or Who.Team),
            ("analyst", analyst, w => w is Who.Everybody or Who.Team or Who.Analysts),
            ("business", business, w => w is not Who.WithSecret),
        ];
        var routes = Routes(server);
        Assert.Empty(routes.Except(Table.Keys));
        Assert.Empty(Table.Keys.Except(routes));

        var wrong = new List<string>();
        // Leaving ends the sign-ins, so it comes last.
        foreach (var route in routes.OrderBy(r => r.EndsWith("/leave", StringComparison.Ordinal)))
        {
            foreach (var (name, browser, passes) in visitors)
            {
                var (method, path) = Request(route);
                var status = await StatusAsync(browser, method, path);
                var signedIn = name is not ("nobody" or "owner");
                var asWanted = Table[route] switch
                {
                    Who.WithSecret => Refused.Contains(status),
                    var who when passes(who) => status is not (HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden),
                    _ => status == (signedIn ? HttpStatusCode.Forbidden : HttpStatusCode.Unauthorized),
                } && (int)status < 500 && status != HttpStatusCode.TooManyRequests;
                if (!asWanted)
                    wrong.Add($"{route} answered {name} with {(int)status}; it is for {Table[route]}");
            }
        }

        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }

    [Fact]
    public async Task What_belongs_to_one_person_no_other_can_change()
    {
        await using var server = await StartAsync();
        var people = server.Get<PersonStore>();
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var tobias = await server.BrowserOfAsync(Role.Walker, "Tobias");
        var (inesId, tobiasId) = ((await people.FindAsync("Ines"))!.Id, (await people.FindAsync("Tobias"))!.Id);

        // A device, a position, a session, a page of the other's, a passkey: each named rightly by somebody else.
        db.PushSubscriptions.Add(new PushSubscriptionRow { PersonId = inesId, Endpoint = "https://fcm.googleapis.com/ines", P256dh = "", Auth = "", CreatedAt = Noon });
        await db.SaveChangesAsync(Cancel);
        using (var removal = new HttpRequestMessage(HttpMethod.Delete, At("/api/push/subscriptions")) { Content = JsonContent.Create(new { endpoint = "https://fcm.googleapis.com/ines" }) })
        using (var removed = await tobias.SendAsync(removal, Cancel))
            Assert.Equal(HttpStatusCode.NotFound, removed.StatusCode);
        Assert.Equal(inesId, (await db.PushSubscriptions.AsNoTracking().SingleAsync(Cancel)).PersonId);

        using (var shared = await ines.PostAsJsonAsync("/api/position", new { latitude = NorthGate.LatitudeDegrees, longitude = NorthGate.LongitudeDegrees }, Cancel))
            Assert.Equal(HttpStatusCode.NoContent, shared.StatusCode);
        using (var forgotten = await tobias.DeleteAsync(At("/api/position"), Cancel))
            Assert.Equal(HttpStatusCode.NoContent, forgotten.StatusCode);
        Assert.Equal([inesId], server.Get<SharedPositions>().Near(NorthGate));

        var session = await db.Sessions.Where(s => s.PersonId == inesId).Select(s => s.Id).SingleAsync(Cancel);
        var own = await tobias.GetStringAsync(At("/me"), Cancel);
        Assert.DoesNotContain(session.ToString("N"), own, StringComparison.Ordinal);
        using (var token = new FormUrlEncodedContent(
            [
                KeyValuePair.Create("__RequestVerificationToken", Regex.Match(own, "name=\"__RequestVerificationToken\" value=\"([^\"]+)\"").Groups[1].Value),
                KeyValuePair.Create("_handler", $"end-{session:N}"),
            ]))
        using (var ended = await tobias.PostAsync(At("/me"), token, Cancel))
            Assert.Equal(HttpStatusCode.BadRequest, ended.StatusCode);
        Assert.False(await people.EndSessionAsync(tobiasId, session, Cancel));
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(ines, HttpMethod.Get, "/api/spots"));
        Assert.Equal(HttpStatusCode.Forbidden, await StatusAsync(tobias, HttpMethod.Get, $"/business/people/{inesId}"));

        db.Add(new IdentityUserPasskey<int>
        {
            UserId = inesId,
            CredentialId = [1, 2, 3],
            Data = new IdentityPasskeyData { Name = "phone", PublicKey = [1], AttestationObject = [1], ClientDataJson = [1], CreatedAt = Noon },
        });
        await db.SaveChangesAsync(Cancel);
        var passkey = (await server.Get<Dashboards.People.IPeopleSetup>().FindAsync(inesId, Cancel))!.Passkeys.Single().Id;
        Assert.NotNull(await server.Get<Dashboards.People.IPeopleSetup>().RemovePasskeyAsync(tobiasId, passkey, Cancel));
        Assert.Equal([inesId], await db.Set<IdentityUserPasskey<int>>().Select(k => k.UserId).ToListAsync(Cancel));
    }

    [Fact]
    public async Task An_owner_reads_their_dogs_walk_and_no_other()
    {
        await using var server = await StartAsync();
        var people = server.Get<PersonStore>();
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var (pickle, boulder) = (await DogAsync(server), await DogAsync(server, "Boulder"));
        var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
        foreach (var (dog, spot) in new[] { (pickle, NorthGate), (boulder, QuarrySteps) })
            db.Walks.Add(new WalkRow { DogId = dog, WalkerId = ines.Id, Start = Noon, Minutes = 30, Spots = [new WalkSpotRow { SpotId = spot.Id.Value }] });
        await db.SaveChangesAsync(Cancel);
        using var owner = server.Browser();

        var page = await owner.GetStringAsync(At($"/o/{await people.NewOwnerTokenAsync(pickle, TimeSpan.FromDays(1), Cancel)}"), Cancel);

        Assert.Contains("Pickle", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Boulder", page, StringComparison.Ordinal);
        Assert.DoesNotContain("Quarry Steps", page, StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync(owner, HttpMethod.Get, "/api/spots/north-gate-plaza/day"));
    }

    private static string[] Routes(RunningServer server) =>
    [
        .. server.Get<IEnumerable<EndpointDataSource>>().SelectMany(s => s.Endpoints).OfType<RouteEndpoint>()
            // Scripts, pictures and what stands in their place are everybody's.
            .Where(e => e.Metadata.GetMetadata<StaticAssetDescriptor>() is null && !Regex.IsMatch(e.RoutePattern.RawText ?? "", @"_framework|_blazor|\*\*path"))
            .SelectMany(e => (e.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? ["ANY"]).Select(m => $"{m} /{e.RoutePattern.RawText?.TrimStart('/')}"))
            .Distinct(),
    ];

    private static (HttpMethod Method, string Path) Request(string route)
    {
        var parts = route.Split(' ');
        var path = Regex.Replace(parts[1], @"\{(\w+)(:\w+)?\}", hole => (hole.Groups[1].Value, hole.Groups[2].Value) switch
        {
            (_, ":guid") => "6f9619ff-8b86-4d01-b42d-00cf4fc964ff",
            (_, ":int") => "1",
            ("documentName", _) => "v1",
            ("token" or "Token", _) => "guessed",
            ("site", _) => "Quarry",
            _ => "north-gate-plaza",
        });
        return (parts[0] == "ANY" ? HttpMethod.Get : HttpMethod.Parse(parts[0]), path);
    }

    private static async Task<HttpStatusCode> StatusAsync(HttpClient browser, HttpMethod method, string path)
    {
        using var request = new HttpRequestMessage(method, At(path));
        if (path.StartsWith("/api", StringComparison.Ordinal) && method != HttpMethod.Get)
            request.Content = JsonContent.Create(new { });
        else if (method == HttpMethod.Post)
            request.Content = new FormUrlEncodedContent([]);
        using var answer = await browser.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, Cancel);
        return answer.StatusCode;
    }

    private static async Task<int> DogAsync(RunningServer server, string name = "Pickle")
    {
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var dog = new DogRow { Name = name };
        db.Dogs.Add(dog);
        await db.SaveChangesAsync(Cancel);
        return dog.Id;
    }
}
