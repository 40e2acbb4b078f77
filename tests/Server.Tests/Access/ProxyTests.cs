using System.Net;
using System.Net.Http.Json;
using System.Net.Sockets;
using System.Text;
using PavementWatch.Server.Access;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Access;

/// <summary>The server behind a proxy, and under names that are not its own.</summary>
public sealed class ProxyTests
{
    private static readonly Dictionary<string, string?> BehindProxy = new()
    {
        ["Access:PublicUrl"] = "https://walks.example",
        ["Access:TrustedProxies:0"] = "127.0.0.0/8",
        ["Access:EntriesPerMinute"] = "3",
    };

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Failed_tries_count_against_the_address_the_proxy_names_and_hold_up_nothing_good()
    {
        await using var server = await RunningServer.StartAsync(settings: BehindProxy);
        var people = server.Get<PersonStore>();
        var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
        var token = await people.NewSignInTokenAsync(ines.Id, Cancel);
        using var browser = server.Browser();
        for (var i = 0; i < 3; i++)
            Assert.Equal(HttpStatusCode.Unauthorized, await FromAsync("203.0.113.5", $"/enter/guess-{i}"));

        Assert.Equal(HttpStatusCode.TooManyRequests, await FromAsync("203.0.113.5", "/enter/guess-3"));
        Assert.Equal(HttpStatusCode.Unauthorized, await FromAsync("203.0.113.6", "/enter/guess-4"));
        // A good link, and a gateway's code, from the address that guessed.
        Assert.NotEqual(HttpStatusCode.TooManyRequests, await FromAsync("203.0.113.5", $"/enter/{token}"));
        using var code = From("203.0.113.5", HttpMethod.Post, "/api/enrol");
        code.Content = JsonContent.Create(new { code = "AAAAA-AAAAA" });
        using var enrolled = await browser.SendAsync(code, Cancel);
        Assert.NotEqual(HttpStatusCode.TooManyRequests, enrolled.StatusCode);

        server.PeopleTime.Advance(TimeSpan.FromMinutes(1));
        Assert.Equal(HttpStatusCode.Unauthorized, await FromAsync("203.0.113.5", "/enter/guess-5"));

        async Task<HttpStatusCode> FromAsync(string address, string path)
        {
            using var request = From(address, HttpMethod.Get, path);
            using var answer = await browser.SendAsync(request, Cancel);
            return answer.StatusCode;
        }
    }

    [Fact]
    public async Task Nobody_is_believed_who_is_no_trusted_proxy()
    {
        await using var server = await RunningServer.StartAsync(settings: new Dictionary<string, string?> { ["Access:EntriesPerMinute"] = "3" });
        using var browser = server.Browser();
        var last = HttpStatusCode.OK;
        for (var i = 0; i < 4; i++)
        {
            using var request = From($"203.0.113.{i}", HttpMethod.Get, $"/enter/guess-{i}", host: null);
            using var answer = await browser.SendAsync(request, Cancel);
            last = answer.StatusCode;
        }

        Assert.Equal(HttpStatusCode.TooManyRequests, last);
    }

    [Theory]
    [InlineData("https://walks.example", true)]
    [InlineData("http://walks.example", false)]
    public async Task Cookies_are_secure_and_https_is_kept_where_the_public_address_is_https(string address, bool secure)
    {
        await using var server = await RunningServer.StartAsync(settings: new Dictionary<string, string?> { ["Access:PublicUrl"] = address });
        using var browser = server.Browser();
        var people = server.Get<PersonStore>();
        var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
        using var request = From("203.0.113.5", HttpMethod.Get, $"/enter/{await people.NewSignInTokenAsync(ines.Id, Cancel)}");

        using var answer = await browser.SendAsync(request, Cancel);

        var cookies = answer.Headers.GetValues("Set-Cookie").ToList();
        Assert.NotEmpty(cookies);
        Assert.All(cookies, cookie => Assert.Equal(secure, cookie.Contains("; secure", StringComparison.OrdinalIgnoreCase)));
        Assert.Equal(secure, answer.Headers.Contains("Strict-Transport-Security"));
    }

    [Theory]
    [InlineData("walks.example", HttpStatusCode.OK, "the public address")]
    [InlineData("WALKS.example:8443", HttpStatusCode.OK, "its name with another port")]
    [InlineData("localhost:5080", HttpStatusCode.OK, "this machine")]
    [InlineData("127.0.0.1", HttpStatusCode.OK, "this machine by its number")]
    [InlineData("[::1]:5080", HttpStatusCode.OK, "this machine by its number")]
    [InlineData("park.example", HttpStatusCode.OK, "a further name")]
    [InlineData("elsewhere.example", HttpStatusCode.BadRequest, "a stranger's name")]
    [InlineData("walks.example.elsewhere.example", HttpStatusCode.BadRequest, "a name that begins like ours")]
    [InlineData("203.0.113.9", HttpStatusCode.BadRequest, "a number that was not dialled")]
    public async Task Only_its_own_names_are_answered(string host, HttpStatusCode status, string why)
    {
        await using var server = await RunningServer.StartAsync(settings: new Dictionary<string, string?>
        {
            ["Access:PublicUrl"] = "https://walks.example",
            ["AllowedHosts"] = "park.example",
        });
        using var browser = server.Browser();
        using var request = From("203.0.113.5", HttpMethod.Get, "/health/live", host);

        using var answer = await browser.SendAsync(request, Cancel);

        Assert.True(answer.StatusCode == status, $"{why}: {answer.StatusCode}");
    }

    [Theory]
    [InlineData("POST / HTTP/1.1\r\nHost:\r\nOrigin: https://elsewhere.example\r\nContent-Length: 0\r\n")]
    [InlineData("POST / HTTP/1.0\r\nOrigin: https://elsewhere.example\r\nContent-Length: 0\r\n")]
    [InlineData("GET /enter/x HTTP/1.1\r\nHost:\r\n")]
    public async Task A_request_without_a_host_is_bad_and_no_error_of_ours(string request)
    {
        await using var server = await RunningServer.StartAsync();
        using var client = new TcpClient();
        await client.ConnectAsync(server.Address.Host, server.Address.Port, Cancel);
        await using var stream = client.GetStream();
        await stream.WriteAsync(Encoding.ASCII.GetBytes(request + "Connection: close\r\n\r\n"), Cancel);

        using var reader = new StreamReader(stream, Encoding.ASCII);
        var status = await reader.ReadLineAsync(Cancel);

        Assert.StartsWith("HTTP/1.1 400", status, StringComparison.Ordinal);
    }

    [Fact]
    public void One_subscriber_has_a_whole_network_of_ipv6()
    {
        static string Of(string address) => FailedTries.Address(new Microsoft.AspNetCore.Http.DefaultHttpContext
        {
            Connection = { RemoteIpAddress = IPAddress.Parse(address) },
        });

        Assert.Equal(Of("2001:db8:1:2::1"), Of("2001:db8:1:2:ffff::9"));
        Assert.NotEqual(Of("2001:db8:1:2::1"), Of("2001:db8:1:3::1"));
        Assert.Equal(Of("203.0.113.5"), Of("::ffff:203.0.113.5"));
    }

    private static HttpRequestMessage From(string address, HttpMethod method, string path, string? host = "walks.example")
    {
        var request = new HttpRequestMessage(method, new Uri(path, UriKind.Relative));
        request.Headers.Host = host;
        request.Headers.Add("X-Forwarded-For", address);
        request.Headers.Add("X-Forwarded-Proto", "https");
        return request;
    }
}
