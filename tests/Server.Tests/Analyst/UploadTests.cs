using System.Globalization;
using System.Net;
using System.Net.Sockets;
using System.Text;
using System.Text.RegularExpressions;
using PavementWatch.Core.Backtesting;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Analyst;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Analyst;

/// <summary>Large files: what is taken, what is refused and how, and how a backtest of one is stopped.</summary>
public sealed partial class UploadTests : IDisposable
{
    private const long MiB = 1 << 20;
    private readonly string _folder = Directory.CreateTempSubdirectory("pw-upload-").FullName;

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task A_file_larger_than_the_framework_takes_by_itself_is_read_and_scored()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        // 140 MiB with few rows: a long remark in each; the framework's own limit for a file of a form is 128 MiB.
        var path = Path.Combine(_folder, "large.csv");
        var remark = new string('x', 8000);
        await using (var writer = new StreamWriter(path, append: false, Encoding.ASCII))
        {
            await writer.WriteLineAsync("time_utc,air_celsius,surface_celsius,remark");
            for (var i = 0; i < 140 * MiB / 8030; i++)
                await writer.WriteLineAsync(string.Create(CultureInfo.InvariantCulture, $"{Noon.UtcDateTime.AddSeconds(-30.0 * i):yyyy-MM-dd'T'HH:mm:ss}Z,20,30,{remark}"));
        }

        using var answer = await SendAsync(odile, "/analyst/backtest", "backtest", new StreamContent(File.OpenRead(path)));

        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        var run = Assert.Single(server.Get<IBacktests>().All());
        Assert.Equal(["rows were out of order, first at line 3, and have been sorted by time", "columns passed over: remark"], run.Remarks);
    }

    [Fact]
    public async Task A_file_that_says_it_is_too_large_is_refused_with_a_sentence_before_it_is_sent()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var cookie = await CookieAsync(server);

        // By hand, as a client that waits to be told to go on.
        using var client = new TcpClient();
        await client.ConnectAsync(server.Address.Host, server.Address.Port, Cancel);
        await using var stream = client.GetStream();
        await stream.WriteAsync(Encoding.ASCII.GetBytes(string.Create(
            CultureInfo.InvariantCulture,
            $"POST /analyst/backtest HTTP/1.1\r\nHost: {server.Address.Authority}\r\nCookie: {cookie}\r\nExpect: 100-continue\r\n"
            + $"Content-Type: multipart/form-data; boundary=b\r\nContent-Length: {1100 * MiB}\r\n\r\n")), Cancel);
        using var reader = new StreamReader(stream);
        var first = await reader.ReadLineAsync(Cancel);
        Assert.Equal("HTTP/1.1 413 Payload Too Large", first);
        var text = "";
        while (!text.Contains("</html>", StringComparison.Ordinal) && await reader.ReadLineAsync(Cancel) is { } line)
            text += line;
        Assert.Contains("It has 1100 MiB, and this page takes 1024 MiB.", text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_file_that_turns_out_too_large_is_refused_with_a_sentence()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        using var content = new StreamContent(new MemoryStream(new byte[9 * MiB]));

        using var answer = await SendAsync(odile, "/checks/import", "import", content, chunked: true);

        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, answer.StatusCode);
        Assert.Contains("It is larger, and this page takes 8 MiB.", await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Nobody_but_analysts_may_send_a_large_file()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        using var ines = await server.BrowserOfAsync(Role.Walker, "Ines");
        using var content = new MultipartFormDataContent { { new StringContent("x"), "file", "x.csv" } };
        using var answer = await ines.PostAsync(new Uri("/analyst/backtest", UriKind.Relative), content, Cancel);
        Assert.Equal(HttpStatusCode.Forbidden, answer.StatusCode);
    }

    [Fact]
    public async Task A_backtest_is_stopped_by_hand_and_the_next_one_has_its_turn()
    {
        await using var server = await StartAsync(spots: [NorthGate]);
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var backtests = server.Get<IBacktests>();
        // Months of minutes take minutes; nobody waits for them.
        var rows = Enumerable.Range(0, 300_000)
            .Select(i => new WeatherSample(Noon.AddMinutes(i - 300_000), 25 + Math.Sin(i / 229.2)) { SurfaceCelsius = 30 + 10 * Math.Sin(i / 229.2) }).ToList();
        var long1 = backtests.Start("long.csv", "Odile", new BacktestRequest(NorthGate, rows), [])!.Value;
        var waiting = backtests.Start("waiting.csv", "Odile", new BacktestRequest(NorthGate, rows), [])!.Value;
        await Patience.UntilAsync(() => backtests.Find(long1)!.Begun, () => "the backtest does not begin");
        Assert.Contains("Waiting for another backtest", await odile.GetStringAsync(new Uri($"/analyst/backtest/{waiting}", UriKind.Relative), Cancel), StringComparison.Ordinal);

        foreach (var id in new[] { waiting, long1 })
        {
            using var stopped = await odile.PostAsync($"/analyst/backtest/{id}", "stop", new Dictionary<string, string>());
            Assert.Equal(HttpStatusCode.Redirect, stopped.StatusCode);
            Assert.Equal((true, "Stopped by Odile."), (backtests.Find(id)!.Ended, backtests.Find(id)!.Fault));
            Assert.Empty(backtests.Find(id)!.Request.Rows);
        }

        Assert.False(backtests.GiveUp(long1, "Odile"));
        var next = backtests.Start("next.csv", "Odile", new BacktestRequest(NorthGate, rows[^9000..]), [])!.Value;
        await Patience.UntilAsync(() => backtests.Find(next)!.Ended, () => "the backtest does not end");
        Assert.NotNull(backtests.Find(next)!.Report);
        Assert.Equal("Stopped by Odile.", backtests.Find(long1)!.Fault);
    }

    private static async Task<HttpResponseMessage> SendAsync(HttpClient browser, string path, string form, HttpContent file, bool chunked = false)
    {
        var page = await browser.GetStringAsync(new Uri(path, UriKind.Relative), Cancel);
        using var content = new MultipartFormDataContent
        {
            { new StringContent(Token().Match(page).Groups[1].Value), "__RequestVerificationToken" },
            { new StringContent(form), "_handler" },
            { new StringContent("37.4"), "latitude" }, { new StringContent("-97"), "longitude" }, { new StringContent("asphalt"), "surface" },
            { new StringContent("49"), "limit" }, { file, "file", "file.csv" },
        };
        using var request = new HttpRequestMessage(HttpMethod.Post, path) { Content = content };
        request.Headers.TransferEncodingChunked = chunked;
        return await browser.SendAsync(request, Cancel);
    }

    private static async Task<string> CookieAsync(RunningServer server)
    {
        var people = server.Get<PavementWatch.Server.People.PersonStore>();
        var person = await people.AddAsync("Odile", Role.Analyst, Cancel);
        using var browser = server.Browser();
        using var entered = await browser.EnterAsync($"/enter/{await people.NewSignInTokenAsync(person.Id, Cancel)}");
        return entered.Headers.GetValues("Set-Cookie").Select(c => SetCookieHeader(c)).First(c => c.StartsWith("pw-visitor=", StringComparison.Ordinal));
    }

    private static string SetCookieHeader(string cookie) => cookie.Split(';')[0];

    [GeneratedRegex("name=\"__RequestVerificationToken\" value=\"([^\"]+)\"")]
    private static partial Regex Token();
}
