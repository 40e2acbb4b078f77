using System.Globalization;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.Logging;

namespace PavementWatch.Server.Tests.Store;

/// <summary>
/// Stands in for an InfluxDB 2 server, which is not installed here: takes line protocol at /api/v2/write, and answers
/// the three questions the store asks in annotated CSV as InfluxDB writes it. It knows those questions by their text,
/// it is no Flux engine; whether the text is Flux at all is another test. Can hand every write on to a real server.
/// </summary>
internal sealed partial class LoopbackInflux : IAsyncDisposable
{
    private readonly WebApplication _app;
    private readonly HttpClient _http = new();
    private readonly SortedDictionary<(string Spot, long At), Dictionary<string, string>> _points = [];
    private readonly Lock _lock = new();

    private LoopbackInflux(WebApplication app) => _app = app;

    public string Url => _app.Urls.Single();

    /// <summary>A real server that gets every write too, and whose refusal is passed back.</summary>
    public string? HandOnTo { get; set; }

    /// <summary>When set, what every request is answered with.</summary>
    public (int Status, string Body)? Refusal { get; set; }

    public int WriteCount { get; private set; }

    public static async Task<LoopbackInflux> StartAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        builder.Logging.ClearProviders();
        var app = builder.Build();
        var influx = new LoopbackInflux(app);
        app.Use((context, next) => influx.Refusal is { } refusal ? AnswerAsync(context, refusal.Status, refusal.Body) : next());
        app.MapPost("/api/v2/write", influx.WriteAsync);
        app.MapPost("/api/v2/query", influx.QueryAsync);
        await app.StartAsync();
        return influx;
    }

    public async ValueTask DisposeAsync()
    {
        await _app.StopAsync();
        await _app.DisposeAsync();
        _http.Dispose();
    }

    private async Task WriteAsync(HttpContext context)
    {
        using var reader = new StreamReader(context.Request.Body, Encoding.UTF8);
        var body = await reader.ReadToEndAsync(context.RequestAborted);
        Assert.Equal("ms", context.Request.Query["precision"]);
        if (HandOnTo is { } real)
        {
            using var content = new StringContent(body);
            var answer = await _http.PostAsync(
                new Uri(real + context.Request.Path + context.Request.QueryString), content, context.RequestAborted);
            if (!answer.IsSuccessStatusCode)
            {
                await AnswerAsync(context, (int)answer.StatusCode, await answer.Content.ReadAsStringAsync(context.RequestAborted));
                return;
            }
        }

        lock (_lock)
        {
            WriteCount++;
            foreach (var line in body.Split('\n', StringSplitOptions.RemoveEmptyEntries))
            {
                var parts = LineProtocol().Match(line);
                if (!parts.Success)
                    throw new FormatException($"not a line of ours: {line}");
                var fields = parts.Groups["field"].Captures.Select(field => field.Value.Split('=', 2))
                    .ToDictionary(pair => pair[0], pair => pair[1]);
                // The same series and time: the later point's fields replace the earlier's.
                _points[(parts.Groups["spot"].Value, long.Parse(parts.Groups["at"].Value))] = fields;
            }
        }

        context.Response.StatusCode = StatusCodes.Status204NoContent;
    }

    private async Task QueryAsync(HttpContext context)
    {
        using var body = await JsonDocument.ParseAsync(context.Request.Body, cancellationToken: context.RequestAborted);
        var flux = body.RootElement.GetProperty("query").GetString()!;
        Assert.Contains("from(bucket: \"readings\")", flux, StringComparison.Ordinal);
        var spots = Spot().Matches(flux).Select(spot => spot.Groups[1].Value).ToHashSet();
        var span = Span().Match(flux);
        KeyValuePair<(string Spot, long At), Dictionary<string, string>>[] found;
        lock (_lock)
            found = [.. _points.Where(point => spots.Count == 0 || spots.Contains(point.Key.Spot))];
        if (span.Success)
        {
            var (from, to) = (Moment(span.Groups[1].Value), Moment(span.Groups[2].Value));
            Assert.True(from < to, "InfluxDB answers 'cannot query an empty range'");
            found = [.. found.Where(point => DateTimeOffset.FromUnixTimeMilliseconds(point.Key.At) is var at && at >= from && at < to)];
        }

        var csv = flux.Contains("|> pivot(", StringComparison.Ordinal) ? PivotedCsv(found)
            : flux.Contains("|> last()", StringComparison.Ordinal) ? TimesCsv(found.GroupBy(point => point.Key.Spot).Select(spot => spot.Last().Key))
            : TimesCsv(found.Select(point => point.Key));
        context.Response.ContentType = "text/csv; charset=utf-8";
        await context.Response.WriteAsync(csv, context.RequestAborted);
    }

    private static string TimesCsv(IEnumerable<(string Spot, long At)> keys)
    {
        var csv = new StringBuilder(
            "#datatype,string,long,dateTime:RFC3339,string\r\n#group,false,false,false,true\r\n#default,_result,,,\r\n,result,table,_time,spot\r\n");
        foreach (var (spot, table) in keys.GroupBy(key => key.Spot).Select((spot, table) => (spot, table)))
        {
            foreach (var key in spot)
                csv.Append(CultureInfo.InvariantCulture, $",,{table},{Time(key.At)},{key.Spot}\r\n");
        }

        return csv.Append("\r\n").ToString();
    }

    private static string PivotedCsv(KeyValuePair<(string Spot, long At), Dictionary<string, string>>[] points)
    {
        if (points.Length == 0)
            return "\r\n";
        var names = points.SelectMany(point => point.Value.Keys).Distinct().Order(StringComparer.Ordinal).ToArray();
        var csv = new StringBuilder("#datatype,string,long,dateTime:RFC3339,string,string");
        foreach (var name in names)
            csv.Append(',').Append(name switch { "received_at" => "long", "quality" or "doubt" => "string", _ => "double" });
        csv.Append("\r\n#group,false,false,false,true,true").Append(string.Concat(names.Select(_ => ",false")));
        csv.Append("\r\n#default,_result,,,,").Append(string.Concat(names.Select(_ => ",")));
        csv.Append("\r\n,result,table,_time,_measurement,spot,").AppendJoin(',', names).Append("\r\n");
        foreach (var (key, fields) in points)
        {
            csv.Append(CultureInfo.InvariantCulture, $",,0,{Time(key.At)},reading,{key.Spot}");
            foreach (var name in names)
                csv.Append(',').Append(CsvValue(fields.GetValueOrDefault(name, "")));
            csv.Append("\r\n");
        }

        return csv.Append("\r\n").ToString();
    }

    // A string loses line protocol's quotes and gets CSV's where it holds a comma; an integer loses its i.
    private static string CsvValue(string field) =>
        field.StartsWith('"') ? (field.Contains(',', StringComparison.Ordinal) ? field : field.Trim('"')) : field.TrimEnd('i');

    private static string Time(long milliseconds) =>
        DateTimeOffset.FromUnixTimeMilliseconds(milliseconds).ToString("yyyy-MM-ddTHH:mm:ss.FFFZ", CultureInfo.InvariantCulture);

    private static DateTimeOffset Moment(string time) => DateTimeOffset.Parse(time, CultureInfo.InvariantCulture);

    private static Task AnswerAsync(HttpContext context, int status, string body)
    {
        context.Response.StatusCode = status;
        context.Response.ContentType = "application/json";
        return context.Response.WriteAsync(body);
    }

    [GeneratedRegex("""^reading,spot=(?<spot>[a-z0-9-]+) ((?<field>[a-z_]+=("[^"]*"|[^",\s]+)),?)+ (?<at>\d+)$""")]
    private static partial Regex LineProtocol();

    [GeneratedRegex("r\\.spot == \"([^\"]+)\"")]
    private static partial Regex Spot();

    [GeneratedRegex(@"range\(start: (\S+), stop: (\S+)\)")]
    private static partial Regex Span();
}
