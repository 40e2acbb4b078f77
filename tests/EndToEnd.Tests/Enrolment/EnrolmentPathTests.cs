using System.Net;
using PavementWatch.Core.Readings;
using PavementWatch.Dashboards.Gateways;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;
using PavementWatch.Server.Store;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Enrolment;

/// <summary>From a code on the business page to a reading in the store, with the real gateway and the real server, over TLS.</summary>
public sealed class EnrolmentPathTests : IDisposable
{
    private readonly string _data = Directory.CreateTempSubdirectory("pw-enrol-").FullName;
    private readonly int _port = EnrolledGateway.FreePort();

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(_data, recursive: true);

    [Fact]
    public async Task Code_enrols_a_gateway_whose_reading_arrives_over_TLS_and_whose_limit_is_set_from_the_page()
    {
        await using var server = await ServerAsync();
        await using var gateway = new EnrolledGateway();
        var (exit, said) = await gateway.TypeAsync($"enrol {await CodeAsync(server)} --server {server.Address}");
        Assert.True(exit == 0, said);
        Assert.Contains("enrolled as north-gate for 1 spots (north-gate-plaza)", said, StringComparison.Ordinal);
        var check = await gateway.CheckAsync();
        Assert.Contains("ok   TLS: Tls13, certificate of CN=localhost", check, StringComparison.Ordinal);
        Assert.Contains("ok   sign-in: as north-gate", check, StringComparison.Ordinal);
        Assert.Contains("ok   publish: acknowledged", check, StringComparison.Ordinal);
        // A check is not a gateway that runs.
        Assert.NotEqual(true, server.Get<GatewayStatusBoard>().Find(GatewayId.Parse("north-gate"))?.Online);

        await gateway.RunAsync(server.Time, 57);
        await gateway.SampleAsync(server.Time, TimeSpan.FromMinutes(2));

        var seen = await server.SeenAsync(RunningServer.NorthGate, s => s.SurfaceCelsius is not null && !s.Estimated);
        Assert.Equal(57, seen.SurfaceCelsius!.Value, 1.5); // The simulated ground, by definition; the sky it mirrors is only estimated.
        var stored = await server.Get<IReadingStore>().LatestAsync(Cancel);
        Assert.Equal(RunningServer.NorthGate.Id, Assert.Single(stored).Reading.Spot);

        using var browser = await server.BrowserOfAsync(Role.Business);
        Assert.Contains("it makes sense", await browser.GetStringAsync(At("/business/spots/north-gate-plaza"), Cancel), StringComparison.Ordinal);
        await UntilAsync(() => Standing(server) == SettingsStanding.InUse);

        using var answer = await browser.PostAsync(
            "/business/spots/north-gate-plaza", "limit", new Dictionary<string, string> { ["limit"] = "113", ["unit"] = "fahrenheit" });

        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        await UntilAsync(() => gateway.Settings.Spots["north-gate-plaza"].LimitCelsius == 45); // 113 °F, by definition.
        await UntilAsync(() => Standing(server) == SettingsStanding.InUse);
        var page = await browser.GetStringAsync(At("/business/spots/north-gate-plaza"), Cancel);
        Assert.Contains("in use at the gateway", page, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Code_that_is_used_expired_or_mistyped_is_told_at_the_gateway_with_a_remedy()
    {
        await using var server = await ServerAsync();
        await using var gateway = new EnrolledGateway();
        await using var other = new EnrolledGateway();
        var used = await CodeAsync(server);
        Assert.Equal(0, (await gateway.TypeAsync($"enrol {used} --server {server.Address}")).Exit);

        var again = await other.TypeAsync($"enrol {used} --server {server.Address}");
        var wrong = await other.TypeAsync($"enrol {(used[0] == '7' ? '8' : '7')}{used[1..]} --server {server.Address}");
        var late = await CodeAsync(server);
        server.PeopleTime.Advance(TimeSpan.FromMinutes(31));
        var expired = await other.TypeAsync($"enrol {late} --server {server.Address}");

        Assert.Equal((1, 1, 1), (again.Exit, wrong.Exit, expired.Exit));
        Assert.Contains("this code was used before; ask the business page for a new one (It was used at", again.Said, StringComparison.Ordinal);
        Assert.Contains("look for a mistyped character", wrong.Said, StringComparison.Ordinal);
        Assert.Contains("one of its signs is wrong", wrong.Said, StringComparison.Ordinal);
        Assert.Contains("this code has expired; codes live 30 minutes", expired.Said, StringComparison.Ordinal);
        Assert.False(other.Has("enrolment.json"));
    }

    [Fact]
    public async Task Renewed_certificate_is_not_noticed_but_a_new_authority_is_told_with_the_remedy()
    {
        await using var gateway = new EnrolledGateway();
        await using (var server = await ServerAsync())
            Assert.Equal(0, (await gateway.TypeAsync($"enrol {await CodeAsync(server)} --server {server.Address}")).Exit);

        await using (await ServerAsync(hostNames: "localhost,127.0.0.1"))
            Assert.Contains("ok   publish: acknowledged", await gateway.CheckAsync(), StringComparison.Ordinal);

        Directory.Delete(Path.Combine(_data, "tls"), recursive: true);
        await using (await ServerAsync())
        {
            var check = await gateway.CheckAsync();
            Assert.Contains("the certificate of localhost is not signed by the authority of the enrolment", check, StringComparison.Ordinal);
            Assert.Contains("if the server was set up anew, enrol again, else somebody is between the two", check, StringComparison.Ordinal);
            Assert.DoesNotContain("sign-in: as", check, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task Command_on_the_page_enrols_over_https_with_the_servers_own_certificate()
    {
        var port = EnrolledGateway.FreePort();
        await using var server = await ServerAsync(
            ("Kestrel:Endpoints:Pages:Url", $"https://localhost:{port}"), ("Access:PublicUrl", $"https://localhost:{port}"));
        await using var gateway = new EnrolledGateway();
        var command = server.Get<EnrolmentNote>().Command(await CodeAsync(server));
        Assert.Contains(" --fingerprint ", command, StringComparison.Ordinal);

        var (exit, said) = await gateway.TypeAsync(command["sudo gateway ".Length..]);
        var without = await gateway.TypeAsync($"enrol {await CodeAsync(server)} --server https://localhost:{port}");

        Assert.True(exit == 0, said);
        Assert.Equal(1, without.Exit);
        Assert.Contains("give --fingerprint with the one the business page shows", without.Said, StringComparison.Ordinal);
    }

    private static SettingsStanding? Standing(RunningServer server) => server.Get<IGatewayBoard>().All().Single().Settings;

    private static Uri At(string path) => new(path, UriKind.Relative);

    private static async Task<string> CodeAsync(RunningServer server) =>
        Assert.IsType<CodeOutcome.Made>(
            await server.Get<EnrolmentCodeStore>().NewCodeAsync(GatewayId.Parse("north-gate"), [RunningServer.NorthGate.Id], Cancel)).Code;

    private static Task UntilAsync(Func<bool> holds) => Patience.UntilAsync(holds, () => "it did not come to hold");

    private Task<RunningServer> ServerAsync(params (string Key, string Value)[] settings) => ServerAsync("localhost", settings);

    private async Task<RunningServer> ServerAsync(string hostNames, params (string Key, string Value)[] settings)
    {
        var all = new Dictionary<string, string?>
        {
            ["Broker:Tls:Own"] = "true",
            ["Broker:Tls:HostNames"] = hostNames,
            ["Broker:Tls:Address"] = "127.0.0.1",
            ["Broker:Tls:Port"] = $"{_port}",
        };
        foreach (var (key, value) in settings)
            all[key] = value;
        return await RunningServer.StartAsync(folder: _data, settings: all);
    }
}
