using System.Net;
using System.Net.Http.Headers;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Components.Endpoints;
using Microsoft.AspNetCore.Routing;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.People;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Server.Tests.People;
using PavementWatch.Server.Tests.Plausibility;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Fuzzing;

/// <summary>A good request, whose body or address is then changed.</summary>
/// <param name="Route">As the endpoint list has it.</param>
/// <param name="By">Who sends it; <c>null</c> for nobody.</param>
/// <param name="Path">Its address.</param>
/// <param name="Type">What the body is.</param>
/// <param name="Body">The body; <c>null</c> where it has none and the address is changed instead.</param>
internal sealed record GoodRequest(string Route, Role? By, string Path, string Type, string? Body)
{
    public HttpMethod Method => HttpMethod.Parse(Route.Split(' ')[0]);
}

/// <summary>A form of a page.</summary>
/// <param name="Page">Where it was found.</param>
/// <param name="By">Who was shown it.</param>
/// <param name="Fields">Its fields, with what stands in them, and whether it is a file.</param>
internal sealed record FoundForm(string Page, Role By, IReadOnlyList<(string Name, string Given, bool IsFile)> Fields)
{
    /// <summary>Its name on that page.</summary>
    public string Name => Fields.FirstOrDefault(one => one.Name == "_handler").Given ?? "";
}

/// <summary>A server in which every page has every form it can have, and a good request of each route that takes a body.</summary>
internal sealed partial class FuzzedTown : IAsyncDisposable
{
    private const int MostPages = 100;

    private static readonly GatewayId Gate = GatewayId.Parse("north-gate");

    private readonly Dictionary<Role, HttpClient> _browsers = [];
    private readonly HttpClient _nobody;
    private int _renewed;

    private FuzzedTown(RunningServer server)
    {
        Server = server;
        _nobody = server.Browser();
    }

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public RunningServer Server { get; }

    public List<GoodRequest> Requests { get; } = [];

    public List<FoundForm> Forms { get; } = [];

    public HttpClient Browser(Role? role) => role is { } known ? _browsers[known] : _nobody;

    public static async Task<FuzzedTown> StartAsync()
    {
        var town = new FuzzedTown(await DoubtedReadingsTests.HotNoonAsync(settings: new Dictionary<string, string?> { ["Access:EntriesPerMinute"] = "10000" }));
        for (var minute = 0; minute < 10; minute++)
            await DoubtedReadingsTests.MinuteAsync(town.Server, 34, 31);
        await town.FillAsync();
        return town;
    }

    /// <summary>Routes of scripts and of the API that change something, as the endpoint list has them.</summary>
    public IEnumerable<string> RoutesThatTakeABody() => Server.Get<IEnumerable<EndpointDataSource>>().SelectMany(source => source.Endpoints).OfType<RouteEndpoint>()
        .Where(endpoint => endpoint.Metadata.GetMetadata<ComponentTypeMetadata>() is null && !(endpoint.RoutePattern.RawText ?? "").Contains("_blazor", StringComparison.Ordinal))
        .SelectMany(endpoint => (endpoint.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? [])
            .Where(method => method is not ("GET" or "HEAD" or "OPTIONS")).Select(method => $"{method} /{endpoint.RoutePattern.RawText?.TrimStart('/')}"))
        .Distinct().Order(StringComparer.Ordinal);

    /// <summary>What every page's forms are called, by the pages' sources: route and name; a name that ends in * stands for one each.</summary>
    public static IEnumerable<string> FormsInTheSources() =>
        Directory.GetFiles(Path.Combine(SharedData.RepositoryRoot, "dashboards"), "*.razor", SearchOption.AllDirectories)
            .Where(file => !file.Contains($"{Path.DirectorySeparatorChar}obj{Path.DirectorySeparatorChar}", StringComparison.Ordinal))
            .SelectMany(file =>
            {
                var text = File.ReadAllText(file);
                var route = PageRoute().Match(text) is { Success: true } page ? page.Groups[1].Value : "any page";
                return NameInSource().Matches(text).Select(name => $"{route} {(name.Groups[1].Success ? name.Groups[1].Value : name.Groups[2].Value + "*")}");
            })
            .Distinct().Order(StringComparer.Ordinal);

    /// <summary>The forms that were found, named in the same way.</summary>
    public IEnumerable<string> FormsFound()
    {
        var known = FormsInTheSources().Select(form => (Form: form, Route: form[..form.LastIndexOf(' ')], Name: form[(form.LastIndexOf(' ') + 1)..]))
            .OrderBy(form => form.Name.EndsWith('*')).ToList();
        return Forms.Select(found => known.FirstOrDefault(form =>
                (form.Name == found.Name || (form.Name.EndsWith('*') && found.Name.StartsWith(form.Name[..^1], StringComparison.Ordinal)))
                && (form.Route == "any page" || Regex.IsMatch(found.Page, $"^{Regex.Replace(form.Route, @"\{[^}]+\}", "[^/]+")}$"))).Form ?? $"{found.Page} {found.Name}")
            .Distinct().Order(StringComparer.Ordinal);
    }

    /// <summary>Sends a good request unchanged.</summary>
    private async Task AddAsync(HttpStatusCode expected, GoodRequest request, HttpClient? browser = null)
    {
        using var message = Message(request, request.Path, request.Body);
        using var answer = await (browser ?? Browser(request.By)).SendAsync(message, Cancel);
        Assert.True(answer.StatusCode == expected, $"{request.Route} is no good request: {(int)answer.StatusCode} {await answer.Content.ReadAsStringAsync(Cancel)}\n{request.Body}");
        Requests.Add(request);
    }

    /// <summary>A request with another address or body.</summary>
    public HttpRequestMessage Message(GoodRequest request, string path, string? body)
    {
        var message = new HttpRequestMessage(request.Method, new Uri(path, UriKind.Relative));
        // As browsers do; a passkey is asked for by a page of ours.
        message.Headers.Add("Origin", Server.Address.GetLeftPart(UriPartial.Authority));
        if (body is not null)
        {
            message.Content = new ByteArrayContent(Encoding.UTF8.GetBytes(body));
            message.Content.Headers.ContentType = new MediaTypeHeaderValue(request.Type);
        }

        return message;
    }

    /// <summary>Whoever was signed out comes in again and looks at all pages.</summary>
    public async Task RenewAsync(Role role)
    {
        _browsers[role].Dispose();
        _browsers[role] = await Server.BrowserOfAsync(role, $"{role} {++_renewed}");
        Forms.RemoveAll(form => form.By == role);
        await FindFormsAsync(role);
    }

    /// <summary>What was removed is there again.</summary>
    public async Task RestoreAsync()
    {
        foreach (var spot in new[] { RunningServer.NorthGate, RunningServer.QuarrySteps })
            await Server.Get<SpotStore>().AddSpotAsync(spot, Cancel);
        await Server.Get<GatewayStore>().SetGatewayAsync(Gate, "secret", [RunningServer.NorthGate.Id, RunningServer.QuarrySteps.Id], Cancel);
    }

    public async ValueTask DisposeAsync()
    {
        foreach (var browser in _browsers.Values)
            browser.Dispose();
        _nobody.Dispose();
        await Server.DisposeAsync();
    }

    private async Task FillAsync()
    {
        const string Json = "application/json", Form = "application/x-www-form-urlencoded";
        var people = Server.Get<PersonStore>();
        // Before anybody of the business is there.
        var setUp = $"/set-up/{await Server.Get<SetUpLink>().TokenAsync(Cancel)}";
        var business = Server.Browser();
        await AddAsync(HttpStatusCode.Redirect, new GoodRequest("POST /set-up/{token}", null, setUp, Form, $"name=Ferngate+Walks&__RequestVerificationToken={await TokenAsync(business, setUp)}"), business);
        _browsers[Role.Business] = business;
        _browsers[Role.Walker] = await Server.BrowserOfAsync(Role.Walker, "Ines");
        _browsers[Role.Analyst] = await Server.BrowserOfAsync(Role.Analyst, "Odile");
        var tobias = await people.AddAsync("Tobias", Role.Walker, Cancel);
        var enter = $"/enter/{await people.NewSignInTokenAsync(tobias.Id, Cancel)}";
        await AddAsync(HttpStatusCode.Redirect, new GoodRequest("POST /enter/{token}", null, enter, Form, $"__RequestVerificationToken={await TokenAsync(_nobody, enter)}"));
        await AddAsync(HttpStatusCode.Redirect, new GoodRequest("POST /leave", null, "/leave", Form, ""));
        // One that waits, to be revoked.
        await people.NewSignInTokenAsync(tobias.Id, Cancel);

        await AddAsync(HttpStatusCode.Created, new GoodRequest(
            "POST /api/push/subscriptions", Role.Walker, "/api/push/subscriptions", Json,
            """{"endpoint":"https://fcm.googleapis.com/fcm/send/one","keys":{"p256dh":"BCVxsr7N_eNgVRqvHtD0zTZsEc6-VV-JvLexhqUzORcxaOzi6-AYWXvTBHm4bjyPjs7Vd8pZGH6SRpkNtoIAiw4","auth":"BTBZMqHH6r4Tts7J_aSIgg"},"spots":["north-gate-plaza"],"kept":["quarry-steps"],"replaces":"https://fcm.googleapis.com/fcm/send/none"}"""));
        await AddAsync(HttpStatusCode.NoContent, new GoodRequest("DELETE /api/push/gone", Role.Walker, "/api/push/gone", Json, "{}"));
        await AddAsync(HttpStatusCode.NoContent, new GoodRequest("DELETE /api/push/subscriptions", Role.Walker, "/api/push/subscriptions", Json, """{"endpoint":"https://fcm.googleapis.com/fcm/send/one"}"""));
        // Takes no body; nobody was sent anything yet.
        await AddAsync(HttpStatusCode.NotFound, new GoodRequest("POST /api/push/receipts/{id:guid}", null, "/api/push/receipts/6f9619ff-8b86-4d01-b42d-00cf4fc964ff", Json, null));
        await AddAsync(HttpStatusCode.NoContent, new GoodRequest("POST /api/position/", Role.Walker, "/api/position", Json, """{"latitude":37.4,"longitude":-97}"""));
        await AddAsync(HttpStatusCode.NoContent, new GoodRequest("DELETE /api/position/", Role.Walker, "/api/position", Json, null));
        var code = Assert.IsType<CodeOutcome.Made>(await Server.Get<EnrolmentCodeStore>().NewCodeAsync(Gate, [RunningServer.NorthGate.Id], Cancel)).Code;
        await AddAsync(HttpStatusCode.OK, new GoodRequest("POST /api/enrol", null, "/api/enrol", Json, $$"""{"code":"{{code}}"}"""));
        const string Weather = """{"kind":"forecast","issuedAt":"2026-07-14T06:00:00Z","rows":[{"at":"2026-07-14T19:00:00Z","airCelsius":35.2,"humidityPercent":40,"windMetersPerSecond":2,"solarWattsPerSquareMeter":700},{"at":"2026-07-14T20:00:00Z","airCelsius":34}]}""";
        await AddAsync(HttpStatusCode.OK, new GoodRequest("PUT /api/weather/", Role.Analyst, "/api/weather", Json, Weather));
        await AddAsync(HttpStatusCode.OK, new GoodRequest("PUT /api/weather/{site}", Role.Analyst, "/api/weather/Quarry", Json, Weather));
        await AddAsync(HttpStatusCode.OK, new GoodRequest(
            "PUT /api/weather/{site}", Role.Business, "/api/weather/Quarry?kind=forecast&issued=2026-07-14T06:00:00Z", "text/csv", "time_utc,air_celsius,humidity_percent\n2026-07-14T19:00:00Z,35.2,40\n"));

        using var phone = new SoftwareAuthenticator(Server.Address.GetLeftPart(UriPartial.Authority));
        await AddAsync(HttpStatusCode.OK, new GoodRequest("POST /api/passkeys/offer", Role.Walker, "/api/passkeys/offer", Json, "{}"));
        await AddAsync(HttpStatusCode.NoContent, new GoodRequest("POST /api/passkeys/", Role.Walker, "/api/passkeys", Json, phone.Create(await AskedAsync(Browser(Role.Walker), "/api/passkeys/offer"))));
        await AddAsync(HttpStatusCode.OK, new GoodRequest("POST /api/passkeys/ask", null, "/api/passkeys/ask", Json, "{}"));
        // Who has no sign-in stays so.
        using var back = Server.Browser();
        var assertion = phone.Get(await AskedAsync(back, "/api/passkeys/ask"));
        await AddAsync(HttpStatusCode.NoContent, new GoodRequest("POST /api/passkeys/enter", null, "/api/passkeys/enter", Json, assertion), back);

        var owner = await OwnerTokenAsync();
        foreach (var (route, by, path) in new (string, Role?, string)[]
        {
            ("GET /api/spots/{id}/day", Role.Walker, "/api/spots/north-gate-plaza/day?date=2026-07-14"),
            ("GET /spots/{Id}", Role.Walker, "/spots/north-gate-plaza?date=2026-07-14"),
            ("GET /analyst/spots/{Id}", Role.Analyst, "/analyst/spots/north-gate-plaza"),
            ("GET /business/spots/{Id}", Role.Business, "/business/spots/north-gate-plaza"),
            ("GET /business/gateways/{Id}", Role.Business, "/business/gateways/north-gate"),
            ("GET /o/{Token}", null, $"/o/{owner}"),
        })
            await AddAsync(HttpStatusCode.OK, new GoodRequest(route, by, path, "", null));
        await AddAsync(HttpStatusCode.Unauthorized, new GoodRequest("GET /enter/{token}", null, enter, "", null));
        await AddAsync(HttpStatusCode.Unauthorized, new GoodRequest("GET /set-up/{token}", null, setUp, "", null));

        await AddWaitingFitAsync();
        // Months of minutes take minutes: so long there is one to be stopped.
        var rows = Enumerable.Range(0, 300_000).Select(i => new WeatherSample(RunningServer.Noon.AddMinutes(i - 300_000), 25) { SurfaceCelsius = 30 + Math.Sin(i / 229.2) }).ToList();
        var backtest = Server.Get<IBacktests>().Start("long.csv", "Odile", new Core.Backtesting.BacktestRequest(RunningServer.NorthGate, rows), [])!.Value;
        foreach (var role in _browsers.Keys.ToList())
            await FindFormsAsync(role);
        Server.Get<IBacktests>().GiveUp(backtest, "Odile");
    }

    private static async Task<string> AskedAsync(HttpClient browser, string path)
    {
        using var answer = await browser.PostAsync(new Uri(path, UriKind.Relative), null, Cancel);
        return await answer.Content.ReadAsStringAsync(Cancel);
    }

    private async Task<string> OwnerTokenAsync()
    {
        await using var db = await Server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var dog = new DogRow { Name = "Pickle" };
        db.Dogs.Add(dog);
        await db.SaveChangesAsync(Cancel);
        return await Server.Get<PersonStore>().NewOwnerTokenAsync(dog.Id, TimeSpan.FromDays(1), Cancel);
    }

    private Task AddWaitingFitAsync()
    {
        // Half an hour before the fits of the town's beginning.
        var at = RunningServer.Noon.AddMinutes(-30);
        var history = Enumerable.Range(1, 6 * 144).Select(i =>
        {
            var taken = at.AddMinutes(10 * (i - (6 * 144)));
            var sun = Math.Max(0, Math.Cos((taken - RunningServer.Noon).TotalDays * 2 * Math.PI));
            return new WeatherSample(taken, 22 + (14 * sun)) { SurfaceCelsius = 24 + (30 * sun), HumidityPercent = 30 };
        });
        return Server.Get<FitStore>().AddAsync(new OffsetModel(new OffsetOptions()).Fit(RunningServer.NorthGate, [.. history], at), FitStanding.Waiting, "test", Cancel);
    }

    private static async Task<string> TokenAsync(HttpClient browser, string path) =>
        Uri.EscapeDataString(Token().Match(await browser.GetStringAsync(new Uri(path, UriKind.Relative), Cancel)).Groups[1].Value);

    /// <summary>The forms of all pages that can be reached by links.</summary>
    private async Task FindFormsAsync(Role role)
    {
        var (seen, open) = (new HashSet<string>(), new Queue<string>(["/", "/business", "/analyst", "/checks/new", "/checks/import", "/me"]));
        while (open.TryDequeue(out var page) && seen.Count < MostPages)
        {
            if (!seen.Add(page))
                continue;
            using var answer = await Browser(role).GetAsync(new Uri(page, UriKind.Relative), Cancel);
            if (answer.Content.Headers.ContentType?.MediaType != "text/html")
                continue;
            var html = await answer.Content.ReadAsStringAsync(Cancel);
            foreach (Match link in Link().Matches(html))
                open.Enqueue(link.Groups[1].Value);
            Forms.AddRange(FormTag().Matches(html).Where(form => form.Value.Contains("method=\"post\"", StringComparison.OrdinalIgnoreCase) && !form.Value.Contains("\"/leave\"", StringComparison.Ordinal))
                .Select(form => new FoundForm(page, role, [.. Field().Matches(form.Value).Select(field => (field.Groups[2].Value, WebUtility.HtmlDecode(Given().Match(field.Value).Groups[1].Value), field.Value.Contains("type=\"file\"", StringComparison.Ordinal)))])));
        }
    }

    [GeneratedRegex("name=\"__RequestVerificationToken\" value=\"([^\"]+)\"")]
    private static partial Regex Token();

    [GeneratedRegex("href=\"(/[^\"#?.]*)(?:[?#][^\"]*)?\"")]
    private static partial Regex Link();

    [GeneratedRegex("<form.*?</form>", RegexOptions.Singleline)]
    private static partial Regex FormTag();

    [GeneratedRegex("<(input|select|textarea)[^>]*name=\"([^\"]+)\"[^>]*>")]
    private static partial Regex Field();

    [GeneratedRegex("value=\"([^\"]*)\"")]
    private static partial Regex Given();

    [GeneratedRegex("^@page \"([^\"]+)\"", RegexOptions.Multiline)]
    private static partial Regex PageRoute();

    [GeneratedRegex("@formname=\"(?:([a-z-]+)\"|@\\(\\$\"([a-z-]+)\\{)")]
    private static partial Regex NameInSource();
}
