using System.Net;
using System.Text;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Fuzzing;

/// <summary>Every form of every page and what else takes a body, filled in at random by everybody who may open it: an answer each time, and no error of ours.</summary>
[Collection(nameof(AloneInItsProcess))]
public sealed class WebFuzzTests
{
    /// <summary>Requests after which it is looked at what they allocated, and what they removed is put back.</summary>
    private const int Batch = 100;

    /// <summary>[B] What a request may allocate in the mean, the page it makes and whoever asks for it with it.</summary>
    private const long AllocatedPerRequest = 4L << 20;

    private static readonly string[] Values =
    [
        "north-gate-plaza", "North Gate plaza", "57.4", "102,2", "2026-07-14T11:30", "2026-07-14", "37.4", "-97", "America/Chicago", "asphalt", "sun", "Handy 2", "0.95", "yes", "C", "F", "49",
        "time_utc,air_celsius,surface_celsius\n2026-07-14T17:00:00Z,30,50\n", "spot,time_utc,surface_celsius\nnorth-gate-plaza,2026-07-13T19:05:00Z,57.4\n", "",
    ];

    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Every_form_and_every_body_is_answered_whatever_is_in_it()
    {
        await using var town = await FuzzedTown.StartAsync();
        Assert.Equal(town.RoutesThatTakeABody(), town.Requests.Select(request => request.Route).Where(route => !route.StartsWith("GET ", StringComparison.Ordinal)).Distinct().Order(StringComparer.Ordinal));
        Assert.Equal(FuzzedTown.FormsInTheSources(), town.FormsFound());

        var random = Fuzz.Source("web");
        var (before, most) = (GC.GetTotalAllocatedBytes(), 0L);
        foreach (var i in Fuzz.Rounds("web", 0.01))
        {
            if (random.Next(2) == 0)
            {
                var good = town.Requests[random.Next(town.Requests.Count)];
                using var request = Changed(random, town, good);
                await AnsweredAsync(town.Browser(good.By), request);
            }
            else
            {
                var form = town.Forms[random.Next(town.Forms.Count)];
                using var request = Filled(random, form);
                if (await AnsweredAsync(town.Browser(form.By), request) == HttpStatusCode.Unauthorized)
                    await town.RenewAsync(form.By);
            }

            if (i % Batch != Batch - 1)
                continue;
            var allocated = (GC.GetTotalAllocatedBytes() - before) / Batch;
            most = Math.Max(most, allocated);
            Assert.True(allocated <= AllocatedPerRequest, $"the {Batch} requests before number {i} allocated {allocated} B each, at most {AllocatedPerRequest} were expected");
            // So that limits on failures by the minute hide nothing.
            town.Server.PeopleTime.Advance(TimeSpan.FromMinutes(1));
            await town.RestoreAsync();
            before = GC.GetTotalAllocatedBytes();
        }

        TestContext.Current.TestOutputHelper?.WriteLine($"{town.Forms.Count} forms, {town.Requests.Count} good requests; {most} B allocated by each request of the costliest {Batch}");
    }

    private static async Task<HttpStatusCode> AnsweredAsync(HttpClient browser, HttpRequestMessage request)
    {
        var told = $"{request.Method} {request.RequestUri}: {(request.Content is null ? "" : await request.Content.ReadAsStringAsync(Cancel))}";
        using var answer = await browser.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, Cancel);
        Assert.True((int)answer.StatusCode < 500, $"{(int)answer.StatusCode} for {told}");
        return answer.StatusCode;
    }

    private static HttpRequestMessage Filled(Random random, FoundForm form)
    {
        var content = new MultipartFormDataContent();
        foreach (var (name, given, isFile) in form.Fields)
        {
            var isOurs = name is "__RequestVerificationToken" or "_handler";
            var value = isOurs && random.Next(50) > 0 ? given
                : random.Next(3) == 0 ? Fuzz.Mutated(random, Values)
                : random.Next(2) == 0 && given.Length > 0 ? given : Values[random.Next(Values.Length)];
            if (!isOurs && random.Next(20) == 0)
                continue;
            if (isFile)
                content.Add(new ByteArrayContent(Encoding.UTF8.GetBytes(value)), name, "file.csv");
            else
                content.Add(new ByteArrayContent(Encoding.UTF8.GetBytes(value)), name);
        }

        return new HttpRequestMessage(HttpMethod.Post, new Uri(form.Page, UriKind.Relative)) { Content = content };
    }

    private static HttpRequestMessage Changed(Random random, FuzzedTown town, GoodRequest good)
    {
        if (good.Body is { } body && random.Next(5) > 0)
            return town.Message(good, good.Path, Fuzz.Mutated(random, [body]));
        // The last part of its address, or a value that was asked for.
        var end = good.Path[(good.Path.LastIndexOfAny(['/', '=']) + 1)..];
        return town.Message(good, good.Path[..^end.Length] + Uri.EscapeDataString(Whole(Fuzz.Mutated(random, [end]))), good.Body);
    }

    // Half of a surrogate pair has no place in an address; and an address has an end.
    private static string Whole(string text) => string.Concat(text.Where(letter => !char.IsSurrogate(letter)).Take(1000));
}

/// <summary>Tests that run while no other does, so that what the whole process allocates is theirs.</summary>
[CollectionDefinition(nameof(AloneInItsProcess), DisableParallelization = true)]
public sealed class AloneInItsProcess;
