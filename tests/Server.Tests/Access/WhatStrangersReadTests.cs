using System.Collections.Concurrent;
using System.Net;
using System.Text.Json;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using PavementWatch.Server.Database;
using PavementWatch.Server.Dogs;
using PavementWatch.Server.Faults;
using PavementWatch.Server.People;
using PavementWatch.Server.Tests.Api;
using PavementWatch.Tests;

namespace PavementWatch.Server.Tests.Access;

/// <summary>What stands in answers to strangers and in logs.</summary>
public sealed class WhatStrangersReadTests
{
    private static CancellationToken Cancel => TestContext.Current.CancellationToken;

    private static Uri At(string path) => new(path, UriKind.Relative);

    [Fact]
    public async Task Strangers_get_words_on_health_and_the_business_gets_details()
    {
        await using var server = await RunningServer.StartAsync(
            settings: new Dictionary<string, string?> { ["Weather:ForecastUrl"] = "http://127.0.0.1:9/ferngate.csv?key=a-key-nobody-may-read" });
        server.ExpectedError = "Health check";
        server.Get<ServiceFaults>().Raise("clock.north-gate", "gateway north-gate: its clock is 3 h ahead");
        using var stranger = server.Browser();
        using var walker = await server.BrowserOfAsync(Role.Walker);
        using var business = await server.BrowserOfAsync(Role.Business);

        // The forecast is looked at once after the start; the business sees when it was.
        var details = "";
        await Patience.UntilAsync(
            async () => (details = await ReadyAsync(business)).Contains("the forecast from http://127.0.0.1:9 was not taken", StringComparison.Ordinal),
            () => $"the forecast's fault never stood in {details}");
        Assert.DoesNotContain("a-key", details, StringComparison.Ordinal);

        Assert.Contains("its clock is 3 h ahead", details, StringComparison.Ordinal);
        foreach (var browser in new[] { stranger, walker })
        {
            var words = await ReadyAsync(browser);
            using var json = JsonDocument.Parse(words);
            Assert.Equal("Unhealthy", json.RootElement.GetProperty("status").GetString());
            Assert.Equal("Unhealthy", json.RootElement.GetProperty("parts").GetProperty("faults").GetProperty("status").GetString());
            Assert.DoesNotContain("north-gate", words, StringComparison.Ordinal);
            Assert.DoesNotContain("127.0.0.1", words, StringComparison.Ordinal);
            Assert.DoesNotContain("a-key", words, StringComparison.Ordinal);
        }

        static async Task<string> ReadyAsync(HttpClient browser)
        {
            using var answer = await browser.GetAsync(At("/health/ready"), Cancel);
            return await answer.Content.ReadAsStringAsync(Cancel);
        }
    }

    [Fact]
    public async Task No_log_at_any_level_holds_the_secret_of_a_link()
    {
        var log = new Everything();
        await using var server = await RunningServer.StartAsync(
            services: s => s.AddLogging(l => l.AddProvider(log).AddFilter<Everything>(null, LogLevel.Trace)));
        var people = server.Get<PersonStore>();
        var ines = await people.AddAsync("Ines", Role.Walker, Cancel);
        await using var db = await server.Get<IDbContextFactory<RegistryDb>>().CreateDbContextAsync(Cancel);
        var pickle = new DogRow { Name = "Pickle" };
        db.Dogs.Add(pickle);
        await db.SaveChangesAsync(Cancel);
        var (enter, owner) = (await people.NewSignInTokenAsync(ines.Id, Cancel), await people.NewOwnerTokenAsync(pickle.Id, TimeSpan.FromDays(7), Cancel));
        using var browser = server.Browser();
        foreach (var path in new[] { $"/o/{owner}", $"/O/{owner}?x=1", $"//o/{owner}", $"/enter/{enter}", $"/enter/{enter}/more", "/enter/guessed-in-vain", "/set-up/guessed-in-vain" })
        {
            using var opened = await browser.GetAsync(new Uri(server.Address.GetLeftPart(UriPartial.Authority) + path), Cancel);
            using var posted = await browser.PostAsync(new Uri(server.Address.GetLeftPart(UriPartial.Authority) + path), new FormUrlEncodedContent([]), Cancel);
        }

        using (var page = await browser.GetAsync(At($"/o/{owner}"), Cancel))
        {
            Assert.Equal(HttpStatusCode.OK, page.StatusCode);
            Assert.Contains("Pickle", await page.Content.ReadAsStringAsync(Cancel), StringComparison.Ordinal);
        }

        Assert.Contains(log.Lines, l => l.Contains("/o/-", StringComparison.Ordinal));
        Assert.Contains(log.Lines, l => l.Contains("/enter/-", StringComparison.Ordinal));
        foreach (var secret in new[] { enter, owner, "guessed-in-vain" })
            Assert.DoesNotContain(log.Lines, l => l.Contains(secret, StringComparison.Ordinal));
    }

    /// <summary>Every line of every category at every level, with its values and its scopes.</summary>
    private sealed class Everything : ILoggerProvider, ILogger
    {
        public ConcurrentQueue<string> Lines { get; } = [];

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull
        {
            Lines.Enqueue(Values(state));
            return null;
        }

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            Lines.Enqueue($"{formatter(state, exception)} {Values(state)} {exception}");

        public void Dispose()
        {
        }

        private static string Values(object? state) =>
            state is IEnumerable<KeyValuePair<string, object?>> values ? string.Join(' ', values.Select(v => $"{v.Key}={v.Value}")) : $"{state}";
    }
}
