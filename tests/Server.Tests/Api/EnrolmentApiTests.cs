using System.Net;
using System.Net.Http.Json;
using System.Text.Json;
using PavementWatch.Core.Readings;
using PavementWatch.Server.Broker;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Ingest;

namespace PavementWatch.Server.Tests.Api;

/// <summary>Codes at the server's door, over HTTP as a gateway brings them.</summary>
public sealed class EnrolmentApiTests
{
    private static readonly GatewayId NorthGate = GatewayId.Parse("north-gate");

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Good_code_brings_credentials_way_and_spots_and_only_a_hash_is_kept()
    {
        await using var server = await RunningServer.StartAsync();
        var code = await CodeAsync(server);

        using var answer = await BringAsync(server, code.ToLowerInvariant());

        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal("no-store", answer.Headers.CacheControl?.ToString());
        var reply = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
        Assert.Equal(
            ["gateway", "user", "password", "brokerHost", "brokerPort", "caPem", "spots"],
            reply.EnumerateObject().Select(p => p.Name));
        Assert.Equal(("north-gate", "north-gate"), (reply.GetProperty("gateway").GetString(), reply.GetProperty("user").GetString()));
        Assert.Equal(("127.0.0.1", ""), (reply.GetProperty("brokerHost").GetString(), reply.GetProperty("caPem").GetString()));
        Assert.Equal(server.Get<IBroker>().Port, reply.GetProperty("brokerPort").GetInt32());
        Assert.Equal(
            """[{"id":"north-gate-plaza","name":"North Gate plaza","surface":"asphalt","emissivityFraction":null,"limitCelsius":49}]""",
            reply.GetProperty("spots").GetRawText());

        var password = reply.GetProperty("password").GetString()!;
        Assert.True(await server.Get<IGatewayDirectory>().MaySignInAsync("north-gate", password, Cancel));
        foreach (var file in Directory.GetFiles(server.Folder, "registry.sqlite*"))
        {
            await using var stream = new FileStream(file, FileMode.Open, FileAccess.Read, FileShare.ReadWrite);
            using var reader = new StreamReader(stream, System.Text.Encoding.Latin1);
            var kept = await reader.ReadToEndAsync(Cancel);
            Assert.DoesNotContain(password, kept, StringComparison.Ordinal);
            Assert.DoesNotContain(EnrolmentCode.Read(code).Code!, kept, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task Code_is_good_once_and_the_second_is_told_when_it_was_used()
    {
        await using var server = await RunningServer.StartAsync();
        var code = await CodeAsync(server);
        using var first = await BringAsync(server, code);

        using var second = await BringAsync(server, code);

        Assert.Equal(HttpStatusCode.OK, first.StatusCode);
        await ExpectAsync(second, HttpStatusCode.Conflict, "If that was not you, make a new code at once");
    }

    [Fact]
    public async Task Code_brought_by_many_at_once_is_good_for_one()
    {
        await using var server = await RunningServer.StartAsync();
        var code = await CodeAsync(server);

        var outcomes = await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => server.Get<EnrolmentCodeStore>().RedeemAsync(code, Cancel)));

        Assert.Single(outcomes.OfType<RedeemOutcome.Enrolled>());
        Assert.Equal(7, outcomes.OfType<RedeemOutcome.Used>().Count());
    }

    [Fact]
    public async Task Code_lives_thirty_minutes()
    {
        await using var server = await RunningServer.StartAsync();
        var code = await CodeAsync(server);
        server.PeopleTime.Advance(TimeSpan.FromMinutes(30));

        using var late = await BringAsync(server, code);
        await ExpectAsync(late, HttpStatusCode.Gone, "after 30 minutes");

        var fresh = await CodeAsync(server);
        server.PeopleTime.Advance(TimeSpan.FromMinutes(30) - TimeSpan.FromSeconds(1));
        using var inTime = await BringAsync(server, fresh);
        Assert.Equal(HttpStatusCode.OK, inTime.StatusCode);
    }

    [Fact]
    public async Task Newer_code_ends_the_one_before()
    {
        await using var server = await RunningServer.StartAsync();
        var first = await CodeAsync(server);
        await CodeAsync(server);

        using var answer = await BringAsync(server, first);

        await ExpectAsync(answer, HttpStatusCode.Gone, "when a newer one was made");
    }

    [Theory]
    [InlineData("7QK2M-9XB4K", HttpStatusCode.BadRequest, "one of its signs is wrong, or two are swapped. Compare it with the page")]
    [InlineData("7QK2M", HttpStatusCode.BadRequest, "it has 5 signs, expected 10")]
    [InlineData(null, HttpStatusCode.BadRequest, "it has 0 signs, expected 10")]
    [InlineData("7QK2M-9XB4J", HttpStatusCode.NotFound, "was never given out here")]
    public async Task Code_that_is_none_is_told_what_is_wrong(string? code, HttpStatusCode status, string words)
    {
        await using var server = await RunningServer.StartAsync();

        using var answer = await BringAsync(server, code);

        await ExpectAsync(answer, status, words);
    }

    [Fact]
    public async Task Trying_codes_in_a_row_is_stopped()
    {
        await using var server = await RunningServer.StartAsync(
            settings: new Dictionary<string, string?> { ["Access:EntriesPerMinute"] = "3" });
        for (var i = 0; i < 3; i++)
            (await BringAsync(server, "7QK2M-9XB4J")).Dispose();

        using var fourth = await BringAsync(server, "7QK2M-9XB4J");

        Assert.Equal(HttpStatusCode.TooManyRequests, fourth.StatusCode);
    }

    [Fact]
    public async Task Enrolling_again_ends_the_password_before_but_a_mere_code_does_not()
    {
        await using var server = await RunningServer.StartAsync();
        await server.Get<GatewayStore>().SetGatewayAsync(NorthGate, "the old one", [RunningServer.NorthGate.Id], Cancel);
        var code = await CodeAsync(server);
        Assert.True(await server.Get<IGatewayDirectory>().MaySignInAsync("north-gate", "the old one", Cancel));

        (await BringAsync(server, code)).Dispose();

        Assert.False(await server.Get<IGatewayDirectory>().MaySignInAsync("north-gate", "the old one", Cancel));
    }

    [Fact]
    public async Task Gateway_without_spots_gets_no_code()
    {
        await using var server = await RunningServer.StartAsync();

        var outcome = await server.Get<EnrolmentCodeStore>().NewCodeAsync(NorthGate, null, Cancel);

        Assert.Contains("has no spots yet", Assert.IsType<CodeOutcome.Refused>(outcome).Reason, StringComparison.Ordinal);
    }

    private static async Task<string> CodeAsync(RunningServer server) =>
        Assert.IsType<CodeOutcome.Made>(
            await server.Get<EnrolmentCodeStore>().NewCodeAsync(NorthGate, [RunningServer.NorthGate.Id], Cancel)).Code;

    private static async Task<HttpResponseMessage> BringAsync(RunningServer server, string? code)
    {
        using var gateway = server.Browser();
        return await gateway.PostAsJsonAsync(new Uri("/api/enrol", UriKind.Relative), new { code }, Cancel);
    }

    private static async Task ExpectAsync(HttpResponseMessage answer, HttpStatusCode status, string words)
    {
        Assert.Equal(status, answer.StatusCode);
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
        var problem = await answer.Content.ReadFromJsonAsync<JsonElement>(Cancel);
        Assert.Contains(words, problem.GetProperty("detail").GetString(), StringComparison.Ordinal);
    }
}
