using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.StaticAssets;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.People;
using PavementWatch.Server.Positions;
using PavementWatch.Server.Privacy;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.People;
using PavementWatch.Server.Tests.Privacy;
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

    /// <summary>Whose data it is that a route names, or changes.</summary>
    private enum Whose
    {
        /// <summary>It names nothing and changes nothing.</summary>
        Nobodys,

        /// <summary>All whom the route is for work on it together: spots, checks, gateways, weather, fits, and the analysts' list of backtests.</summary>
        Shared,

        /// <summary>One person's, named in the address or the body.</summary>
        Own,

        /// <summary>Of whoever is signed in; nobody else can be named.</summary>
        SignedIn,

        /// <summary>Of whoever knows a secret that cannot be guessed, as the name of a message on their phone.</summary>
        BySecret,
    }

    private static readonly Dictionary<string, (Who Who, Whose Whose)> Table = new()
    {
        ["ANY /health/live"] = (Who.Everybody, Whose.Nobodys),
        ["ANY /health/ready"] = (Who.Everybody, Whose.Nobodys),
        ["GET /kept-files.json"] = (Who.Everybody, Whose.Nobodys),
        ["GET /offline"] = (Who.Everybody, Whose.Nobodys),
        ["POST /offline"] = (Who.Everybody, Whose.Shared),
        ["GET /openapi/{documentName}.json"] = (Who.Everybody, Whose.Shared),
        ["POST /leave"] = (Who.Everybody, Whose.SignedIn),
        ["POST /api/passkeys/ask"] = (Who.Everybody, Whose.SignedIn),
        ["GET /enter/{token}"] = (Who.WithSecret, Whose.BySecret),
        ["POST /enter/{token}"] = (Who.WithSecret, Whose.BySecret),
        ["GET /set-up/{token}"] = (Who.WithSecret, Whose.BySecret),
        ["POST /set-up/{token}"] = (Who.WithSecret, Whose.BySecret),
        ["GET /o/{Token}"] = (Who.WithSecret, Whose.BySecret),
        ["POST /o/{Token}"] = (Who.WithSecret, Whose.BySecret),
        ["POST /api/enrol"] = (Who.WithSecret, Whose.BySecret),
        ["POST /api/push/receipts/{id:guid}"] = (Who.WithSecret, Whose.BySecret),
        ["POST /api/passkeys/enter"] = (Who.WithSecret, Whose.BySecret),
        ["GET /"] = (Who.Team, Whose.Nobodys),
        ["POST /"] = (Who.Team, Whose.Shared),
        ["GET /spots/{Id}"] = (Who.Team, Whose.Shared),
        ["POST /spots/{Id}"] = (Who.Team, Whose.Shared),
        ["GET /me"] = (Who.Team, Whose.Nobodys),
        ["POST /me"] = (Who.Team, Whose.Own),
        ["GET /checks/new"] = (Who.Team, Whose.Nobodys),
        ["POST /checks/new"] = (Who.Team, Whose.Shared),
        ["GET /checks/import"] = (Who.Team, Whose.Nobodys),
        ["POST /checks/import"] = (Who.Team, Whose.Shared),
        ["GET /checks/export.csv"] = (Who.Team, Whose.Nobodys),
        ["GET /api/spots"] = (Who.Team, Whose.Nobodys),
        ["GET /api/live"] = (Who.Team, Whose.Nobodys),
        ["GET /api/spots/{id}/day"] = (Who.Team, Whose.Shared),
        ["GET /api/push/key"] = (Who.Team, Whose.Nobodys),
        ["POST /api/push/subscriptions"] = (Who.Team, Whose.Own),
        ["DELETE /api/push/subscriptions"] = (Who.Team, Whose.Own),
        ["DELETE /api/push/gone"] = (Who.Team, Whose.SignedIn),
        ["POST /api/position/"] = (Who.Team, Whose.SignedIn),
        ["DELETE /api/position/"] = (Who.Team, Whose.SignedIn),
        ["POST /api/passkeys/offer"] = (Who.Team, Whose.SignedIn),
        ["POST /api/passkeys/"] = (Who.Team, Whose.Own),
        ["GET /analyst"] = (Who.Analysts, Whose.Nobodys),
        ["POST /analyst"] = (Who.Analysts, Whose.Shared),
        ["GET /analyst/backtest"] = (Who.Analysts, Whose.Nobodys),
        ["POST /analyst/backtest"] = (Who.Analysts, Whose.Shared),
        ["GET /analyst/backtest/{Id:guid}"] = (Who.Analysts, Whose.Shared),
        ["POST /analyst/backtest/{Id:guid}"] = (Who.Analysts, Whose.Shared),
        ["GET /analyst/spots/{Id}"] = (Who.Analysts, Whose.Shared),
        ["POST /analyst/spots/{Id}"] = (Who.Analysts, Whose.Shared),
        ["GET /api/backtests/{id:guid}"] = (Who.Analysts, Whose.Shared),
        ["GET /api/backtests/{id:guid}/report.json"] = (Who.Analysts, Whose.Shared),
        ["PUT /api/weather/"] = (Who.Analysts, Whose.Shared),
        ["PUT /api/weather/{site}"] = (Who.Analysts, Whose.Shared),
        ["GET /business"] = (Who.Business, Whose.Nobodys),
        ["POST /business"] = (Who.Business, Whose.Shared),
        ["GET /business/add-spot"] = (Who.Business, Whose.Nobodys),
        ["POST /business/add-spot"] = (Who.Business, Whose.Shared),
        ["GET /business/enrol"] = (Who.Business, Whose.Nobodys),
        ["POST /business/enrol"] = (Who.Business, Whose.Shared),
        ["GET /business/spots/{Id}"] = (Who.Business, Whose.Shared),
        ["POST /business/spots/{Id}"] = (Who.Business, Whose.Shared),
        ["GET /business/spots/{Id}/edit"] = (Who.Business, Whose.Shared),
        ["POST /business/spots/{Id}/edit"] = (Who.Business, Whose.Shared),
        ["GET /business/gateways/{Id}"] = (Who.Business, Whose.Shared),
        ["POST /business/gateways/{Id}"] = (Who.Business, Whose.Shared),
        ["GET /business/people"] = (Who.Business, Whose.Nobodys),
        ["POST /business/people"] = (Who.Business, Whose.Shared),
        ["GET /business/people/{Id:int}"] = (Who.Business, Whose.Own),
        ["POST /business/people/{Id:int}"] = (Who.Business, Whose.Own),
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
                var asWanted = Table[route].Who switch
                {
                    Who.WithSecret => Refused.Contains(status),
                    var who when passes(who) => status is not (HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden),
                    _ => status == (signedIn ? HttpStatusCode.Forbidden : HttpStatusCode.Unauthorized),
                } && (int)status < 500 && status != HttpStatusCode.TooManyRequests;
                if (!asWanted)
                    wrong.Add($"{route} answered {name} with {(int)status}; it is for {Table[route].Who}");
            }
        }

        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }

    [Fact]
    public async Task Each_route_that_names_or_changes_something_says_whose_it_is()
    {
        await using var server = await StartAsync();
        Assert.All(Routes(server), route => Assert.True(
            (route.Contains('{') || !Regex.IsMatch(route, "^(GET|ANY) ")) == (Table[route].Whose != Whose.Nobodys), $"{route} is {Table[route].Whose}"));
        Assert.Equal(
            Table.Where(route => route.Value.Whose is Whose.Own or Whose.SignedIn).Select(route => route.Key).Order(StringComparer.Ordinal), Attempts.Keys.Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task What_belongs_to_one_person_no_other_can_change()
    {
        await using var server = await StartAsync();
        var people = server.Get<PersonStore>();
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        // Something in every table that refers to people, and a browser.
        var (inesId, _) = await PersonalDataTests.FillAsync(server, "Ines", "of-ines");
        await db.PushSubscriptions.ExecuteUpdateAsync(set => set.SetProperty(s => s.Endpoint, "https://fcm.googleapis.com/of-ines"), Cancel);
        using var ines = server.Browser();
        using (var entered = await ines.EnterAsync($"/enter/{await people.NewSignInTokenAsync(inesId, Cancel)}"))
            Assert.Equal(HttpStatusCode.Redirect, entered.StatusCode);
        using (var shared = await ines.PostAsJsonAsync("/api/position", new { latitude = NorthGate.LatitudeDegrees, longitude = NorthGate.LongitudeDegrees }, Cancel))
            Assert.Equal(HttpStatusCode.NoContent, shared.StatusCode);
        using var key = new SoftwareAuthenticator(server.Address.GetLeftPart(UriPartial.Authority));
        using var offered = await ines.PostAsync(At("/api/passkeys/offer"), null, Cancel);
        var passkey = key.Create(await offered.Content.ReadAsStringAsync(Cancel));
        var kept = await server.Get<PersonalData>().ExportAsync(inesId, Cancel);

        foreach (var (route, attempt) in Attempts)
        {
            // Who leaves is somebody else next time.
            var name = $"Tobias {Array.IndexOf([.. Attempts.Keys], route)}";
            using var tobias = await server.BrowserOfAsync(Role.Walker, name);
            var tobiasId = (await people.FindAsync(name))!.Id;
            foreach (var status in await attempt(new Others(server, db, tobias, tobiasId, inesId, passkey)))
            {
                Assert.True(
                    Table[route].Whose == Whose.SignedIn ? (int)status < 400 : Refused.Contains(status), $"{route}: somebody else was answered {(int)status}");
            }

            Assert.True(await server.Get<PersonalData>().ExportAsync(inesId, Cancel) == kept, $"{route}: something of another's has changed");
            Assert.Equal([inesId], server.Get<SharedPositions>().Near(NorthGate));
        }

        Assert.Equal(HttpStatusCode.OK, await StatusAsync(ines, HttpMethod.Get, "/api/spots"));
        Assert.False(await people.EndSessionAsync(inesId + 1, await db.Sessions.Where(s => s.PersonId == inesId).Select(s => s.Id).FirstAsync(Cancel), Cancel));
    }

    /// <summary>Somebody who names what is another's rightly.</summary>
    private sealed record Others(RunningServer Server, RegistryDb Db, HttpClient Tobias, int TobiasId, int InesId, string InesPasskey);

    private static readonly Dictionary<string, Func<Others, Task<IReadOnlyList<HttpStatusCode>>>> Attempts = new()
    {
        ["POST /api/push/subscriptions"] = async o =>
        {
            var keys = new { p256dh = "BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4", auth = "AAAAAAAAAAAAAAAAAAAAAA" };
            // A device of his own that says it had her address before takes nothing of hers along.
            Assert.Equal(
                HttpStatusCode.Created,
                await SentAsync(o.Tobias, HttpMethod.Post, "/api/push/subscriptions", new { endpoint = "https://fcm.googleapis.com/of-tobias", keys, replaces = await EndpointAsync(o) }));
            return [await SentAsync(o.Tobias, HttpMethod.Post, "/api/push/subscriptions", new { endpoint = await EndpointAsync(o), keys, spots = new[] { QuarrySteps.Id.Value } })];
        },
        ["DELETE /api/push/subscriptions"] = async o => [await SentAsync(o.Tobias, HttpMethod.Delete, "/api/push/subscriptions", new { endpoint = await EndpointAsync(o) })],
        ["POST /me"] = async o =>
        {
            var own = await o.Tobias.GetStringAsync(At("/me"), Cancel);
            var token = Regex.Match(own, "name=\"__RequestVerificationToken\" value=\"([^\"]+)\"").Groups[1].Value;
            var statuses = new List<HttpStatusCode>();
            var sessions = await o.Db.Sessions.Where(s => s.PersonId == o.InesId).Select(s => s.Id).ToListAsync(Cancel);
            var passkeys = (await o.Server.Get<Dashboards.People.IPeopleSetup>().FindAsync(o.InesId, Cancel))!.Passkeys.Select(p => p.Id).ToList();
            Assert.True(sessions.Count > 0 && passkeys.Count > 0);
            foreach (var handler in sessions.Select(s => $"end-{s:N}").Concat(passkeys.Select(p => $"passkey-{p}")))
            {
                Assert.DoesNotContain(handler, own, StringComparison.Ordinal);
                using var form = new FormUrlEncodedContent(
                    [KeyValuePair.Create("__RequestVerificationToken", token), KeyValuePair.Create("_handler", handler), KeyValuePair.Create("sure", "yes")]);
                using var answer = await o.Tobias.PostAsync(At("/me"), form, Cancel);
                statuses.Add(answer.StatusCode);
            }

            foreach (var passkey in passkeys)
                Assert.NotNull(await o.Server.Get<Dashboards.People.IPeopleSetup>().RemovePasskeyAsync(o.TobiasId, passkey, Cancel));
            return statuses;
        },
        // Made for her offer; his browser knows of none, then of his own.
        ["POST /api/passkeys/"] = async o =>
        [
            await SentAsync(o.Tobias, HttpMethod.Post, "/api/passkeys", JsonSerializer.Deserialize<JsonElement>(o.InesPasskey)),
            .. await SentAsync(o.Tobias, HttpMethod.Post, "/api/passkeys/offer", null) == HttpStatusCode.OK
                ? new[] { await SentAsync(o.Tobias, HttpMethod.Post, "/api/passkeys", JsonSerializer.Deserialize<JsonElement>(o.InesPasskey)) } : [],
        ],
        ["GET /business/people/{Id:int}"] = async o => [await StatusAsync(o.Tobias, HttpMethod.Get, $"/business/people/{o.InesId}")],
        ["POST /business/people/{Id:int}"] = async o => [await StatusAsync(o.Tobias, HttpMethod.Post, $"/business/people/{o.InesId}")],
        ["POST /api/position/"] = async o => [await SentAsync(o.Tobias, HttpMethod.Post, "/api/position", new { latitude = 51.0, longitude = 7.0 })],
        ["DELETE /api/push/gone"] = async o => [await SentAsync(o.Tobias, HttpMethod.Delete, "/api/push/gone", null)],
        ["DELETE /api/position/"] = async o => [await SentAsync(o.Tobias, HttpMethod.Delete, "/api/position", null)],
        ["POST /api/passkeys/offer"] = async o => [await SentAsync(o.Tobias, HttpMethod.Post, "/api/passkeys/offer", null)],
        ["POST /api/passkeys/ask"] = async o => [await SentAsync(o.Tobias, HttpMethod.Post, "/api/passkeys/ask", null)],
        ["POST /leave"] = async o => [await SentAsync(o.Tobias, HttpMethod.Post, "/leave", null)],
    };

    private static Task<string> EndpointAsync(Others others) => others.Db.PushSubscriptions.Where(s => s.PersonId == others.InesId).Select(s => s.Endpoint).SingleAsync(Cancel);

    private static async Task<HttpStatusCode> SentAsync(HttpClient browser, HttpMethod method, string path, object? body)
    {
        using var request = new HttpRequestMessage(method, At(path)) { Content = body is null ? null : JsonContent.Create(body) };
        using var answer = await browser.SendAsync(request, Cancel);
        return answer.StatusCode;
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
