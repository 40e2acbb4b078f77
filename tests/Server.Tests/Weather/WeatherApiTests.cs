using System.Net;
using System.Net.Http.Headers;
using System.Text;
using System.Text.Json;
using PavementWatch.Server.Api;
using PavementWatch.Server.Weather;
using static PavementWatch.Server.Tests.Api.RunningServer;

namespace PavementWatch.Server.Tests.Weather;

/// <summary>Weather sent to the server over HTTP.</summary>
public sealed class WeatherApiTests
{
    private const string Csv = "text/csv";
    private const string Json = "application/json";

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task A_forecast_as_json_and_observations_as_csv_are_taken_and_answered()
    {
        await using var server = await StartAsync();
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");

        using var forecast = await SendAsync(odile, "/api/weather/north%20gate", Json, """
            {"kind":"forecast","issuedAt":"2026-07-14T06:00:00-05:00","rows":[
              {"at":"2026-07-14T19:00:00Z","airCelsius":37.5,"windMetersPerSecond":2.5,"solarWattsPerSquareMeter":905},
              {"at":"2026-07-14T18:00:00Z","airCelsius":36.5},
              {"at":"2026-07-14T18:00:00Z","airCelsius":11}]}
            """);
        using var observed = await SendAsync(odile, "/api/weather", Csv, "\uFEFFtime_utc,snow_mm,wind_mps,rain_mm\r\n2026-07-14T16:00:00Z,0,3.5,1.2\r\n2026-07-14T16:30:00Z,0,3.5,0\r\n");

        using var answer = JsonDocument.Parse(await forecast.Content.ReadAsStringAsync(Cancel));
        Assert.Equal(HttpStatusCode.OK, forecast.StatusCode);
        Assert.Equal(
            ("North Gate", "forecast", "2026-07-14T11:00:00+00:00", 2, 2),
            (Text(answer, "site"), Text(answer, "kind"), Text(answer, "issuedAt"), answer.RootElement.GetProperty("read").GetInt32(), answer.RootElement.GetProperty("added").GetInt32()));
        Assert.Equal(
            ["rows were out of order and have been sorted by time", "1 rows repeated a time; the first of each was kept"],
            answer.RootElement.GetProperty("remarks").EnumerateArray().Select(r => r.GetString()));
        Assert.True(observed.StatusCode == HttpStatusCode.OK, await observed.Content.ReadAsStringAsync(Cancel));
        var known = server.Get<WeatherStore>().Recent("North Gate");
        Assert.Equal((36.5, 37.5, 905), (known.Forecast.Air.Between(Noon.AddHours(1)), known.Forecast.Air.Between(Noon.AddHours(2)), known.Forecast.Solar.Over(Noon.AddHours(2))));
        Assert.Equal(3.5, known.Observed.Wind.Over(Noon.AddHours(-1)));
        Assert.Equal((1.2, Noon.AddHours(-1)), (known.Observed.Rain.Sum(Noon.AddHours(-2), Noon), known.Observed.Rain.LastOfAny(Noon, Noon.AddHours(-2))));
        Assert.Null(known.Observed.Rain.LastOfAny(Noon, Noon.AddHours(-1)));
    }

    [Theory]
    [InlineData("/api/weather/Nowhere", Csv, "time_utc,wind_mps\n", 404, "there is no site 'Nowhere'; known: North Gate, Quarry")]
    [InlineData("/api/weather?kind=past", Csv, "", 400, "kind is 'past', expected observed or forecast")]
    [InlineData("/api/weather?issued=06:00", Csv, "", 400, "issued is '06:00', expected a time with its zone")]
    [InlineData("/api/weather", Csv, "", 400, "line 1: an empty file")]
    [InlineData("/api/weather", Csv, "time_utc;air_celsius\n", 400, "line 1: columns parted by ';'")]
    [InlineData("/api/weather", Csv, "air_celsius\n", 400, "line 1, column time_utc: no such column")]
    [InlineData("/api/weather", Csv, "time_utc,snow_mm\n", 400, "line 1: none of the columns of weather")]
    [InlineData("/api/weather", Csv, "time_utc,wind_mps,wind_mps\n", 400, "line 1, column wind_mps: the column twice")]
    [InlineData("/api/weather", Csv, "time_utc,wind_mps\n2026-07-14T12:00,3\n", 400, "line 2, column time_utc: '2026-07-14T12:00', expected a time with its zone")]
    [InlineData("/api/weather", Csv, "time_utc,air_celsius\n2026-07-14T12:00Z,31,5\n", 400, "line 2: 3 cells, expected 2 as in the header; write numbers with a decimal point")]
    [InlineData("/api/weather", Csv, "time_utc,air_celsius\n\n2026-07-14T12:00Z,95\n", 400, "line 3, column air_celsius: '95', expected a number from -60 to 60")]
    [InlineData("/api/weather", Csv, "time_utc,air_celsius\n2026-07-14T12:00Z,\n", 400, "no row with a value, expected at least one")]
    [InlineData("/api/weather", Csv, "time_utc,air_celsius\n2026-07-15T12:00Z,31\n", 400, "say that it is a forecast")]
    [InlineData("/api/weather?kind=forecast&issued=2026-07-15T06:00Z", Csv, "time_utc,air_celsius\n2026-07-15T12:00Z,31\n", 400, "issued: 2026-07-15 06:00:00Z, expected a moment up to now")]
    [InlineData("/api/weather?kind=forecast", Csv, "time_utc,air_celsius\n2027-07-15T12:00Z,31\n", 400, "expected at most 16 days after the issue")]
    [InlineData("/api/weather?kind=forecast", Csv, "time_utc,wind_mps\n2026-07-15T12:00Z,3\n", 400, "air_celsius: no value, expected air in a forecast")]
    [InlineData("/api/weather", Json, "{", 400, "line 1: JSON that does not fit")]
    [InlineData("/api/weather", Json, "{\"rows\":[{\"at\":\"2026-07-14T12:00Z\",\n\"air\":31}]}", 400, "line 2, $.rows[0].air: JSON that does not fit")]
    [InlineData("/api/weather", Json, "{\"rows\":[{\"at\":\"2026-07-14T12:00Z\",\"airCelsius\":\"31\"}]}", 400, "$.rows[0].airCelsius: JSON that does not fit")]
    [InlineData("/api/weather", Json, "{\"rows\":[{\"at\":\"2026-07-14T12:00Z\",\"windMetersPerSecond\":-1}]}", 400, "rows[0].windMetersPerSecond: -1, expected a number from 0 to 120")]
    [InlineData("/api/weather", Json, "{\"rows\":[{\"at\":\"2026-07-14T12:00Z\",\"rainMillimeters\":-1}]}", 400, "rows[0].rainMillimeters: -1, expected a number from 0 to 500 mm")]
    [InlineData("/api/weather", Json, "{\"rows\":[{\"at\":\"12:00\",\"airCelsius\":31}]}", 400, "rows[0].at: '12:00', expected a time with its zone")]
    [InlineData("/api/weather", Json, "{\"kind\":\"guess\",\"rows\":[]}", 400, "kind: 'guess', expected observed or forecast")]
    [InlineData("/api/weather", Json, "{\"rows\":[]}", 400, "rows: none, expected at least one")]
    public async Task What_cannot_be_taken_is_refused_whole_and_says_where_and_why(string path, string type, string body, int status, string says)
    {
        await using var server = await StartAsync();
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");

        using var answer = await SendAsync(odile, path, type, body);

        using var problem = JsonDocument.Parse(await answer.Content.ReadAsStringAsync(Cancel));
        Assert.Equal(("application/problem+json", status), (answer.Content.Headers.ContentType?.MediaType, (int)answer.StatusCode));
        Assert.Contains(says, Text(problem, "detail"), StringComparison.Ordinal);
        Assert.True(server.Get<WeatherStore>().Recent("").IsEmpty);
    }

    [Fact]
    public async Task Another_kind_of_text_is_not_read()
    {
        await using var server = await StartAsync();
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");

        using var answer = await SendAsync(odile, "/api/weather", "text/plain", "time_utc,air_celsius\n2026-07-14T12:00Z,31\n");

        Assert.Equal(HttpStatusCode.UnsupportedMediaType, answer.StatusCode);
    }

    [Theory]
    [InlineData(null, HttpStatusCode.Unauthorized)]
    [InlineData(Role.Walker, HttpStatusCode.Forbidden)]
    [InlineData(Role.Analyst, HttpStatusCode.OK)]
    [InlineData(Role.Business, HttpStatusCode.OK)]
    internal async Task Only_the_business_and_its_analysts_may_send_it(Role? role, HttpStatusCode status)
    {
        await using var server = await StartAsync();
        using var browser = role is { } some ? await server.BrowserOfAsync(some) : server.Browser();

        using var answer = await SendAsync(browser, "/api/weather", Csv, "time_utc,air_celsius\n2026-07-14T12:00Z,31\n");

        Assert.Equal(status, answer.StatusCode);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task A_body_too_large_is_refused_with_its_remedy_whether_or_not_it_says_its_length(bool chunked)
    {
        await using var server = await StartAsync();
        using var odile = await server.BrowserOfAsync(Role.Analyst, "Odile");
        var row = "2026-07-14T12:00Z,31\n";
        var text = "time_utc,air_celsius\n" + string.Concat(Enumerable.Repeat(row, WeatherApi.MostBytes / row.Length + 1));
        using var request = new HttpRequestMessage(HttpMethod.Put, new Uri("/api/weather", UriKind.Relative)) { Content = new StringContent(text, Encoding.UTF8, Csv) };
        request.Headers.TransferEncodingChunked = chunked;
        request.Headers.ExpectContinue = true;

        using var answer = await odile.SendAsync(request, Cancel);

        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, answer.StatusCode);
        Assert.Contains("import weather FILE", await answer.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
    }

    private static async Task<HttpResponseMessage> SendAsync(HttpClient browser, string path, string type, string body)
    {
        using var content = new StringContent(body, Encoding.UTF8, new MediaTypeHeaderValue(type));
        return await browser.PutAsync(new Uri(path, UriKind.Relative), content, Cancel);
    }

    private static string? Text(JsonDocument json, string name) => json.RootElement.GetProperty(name).GetString();
}
