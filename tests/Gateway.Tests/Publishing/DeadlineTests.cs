using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting.Systemd;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;
using PavementWatch.Gateway.Hosting;
using PavementWatch.Gateway.Publishing;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Tests.Outbox;
using PavementWatch.Tests;

namespace PavementWatch.Gateway.Tests.Publishing;

/// <summary>Peers that say nothing: each step ends in its time and is named, and publishing that never ends is seen by the watchdog.</summary>
public sealed class DeadlineTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly FakeTimeProvider _time = new(Some.Noon);

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData(false, false, false, "did not answer in 1 s (connected, but no answer to the sign-in)")]
    [InlineData(false, true, false, "did not answer in 1 s (no connection, or no TLS on it)")]
    [InlineData(true, false, false, "did not answer in 1 s (signed in, but no answer to the subscription to its settings)")]
    [InlineData(true, false, true, "no acknowledgement within 1 s")]
    public async Task Step_a_peer_never_answers_ends_and_is_named(bool signsIn, bool tls, bool subscribes, string expected)
    {
        await using var peer = new ScriptedPeer { AnswersSignIn = signsIn, AnswersSubscription = subscribes };
        await using var gateway = new TestGateway(
            _folder["."], peer.Port, _time, ("Publishing:AnswerTimeout", "00:00:01"), ("Publishing:Tls", tls ? "true" : "false"));

        await gateway.StartAsync();

        await gateway.WarningAsync(expected);
    }

    [Fact]
    public async Task Watchdog_sees_an_attempt_to_publish_that_never_ends()
    {
        var networkTime = new FakeTimeProvider(Some.Noon);
        await using var peer = new ScriptedPeer();
        await using var gateway = new TestGateway(_folder["."], peer.Port, _time, networkTime, ("Publishing:AnswerTimeout", "00:05:00"));
        await gateway.StartAsync();
        await peer.Greeted.WaitAsync(Patience.Span, TestContext.Current.CancellationToken);
        using var watchdog = Watchdog(gateway);

        networkTime.Advance(TimeSpan.FromMinutes(9));
        Assert.True(watchdog.IsAlive());

        networkTime.Advance(TimeSpan.FromMinutes(3));
        Assert.False(watchdog.IsAlive());
    }

    [Fact]
    public async Task Watchdog_is_content_with_attempts_that_fail_in_their_time_and_with_a_link_that_has_nothing_to_send()
    {
        var networkTime = new FakeTimeProvider(Some.Noon);
        await using var broker = await TestBroker.StartAsync();
        await broker.StopAsync();
        await using var gateway = new TestGateway(_folder["."], broker.Port, _time, networkTime);
        await gateway.StartAsync();
        using var watchdog = Watchdog(gateway);

        for (var attempts = 1; attempts <= 20; attempts++)
        {
            await gateway.WarningAsync("nobody listens", attempts);
            networkTime.Advance(TimeSpan.FromMinutes(1));
            Assert.True(watchdog.IsAlive());
        }

        await broker.StartAgainAsync();
        await Patience.UntilAsync(() => broker.Arrivals.Count > 0, () => "no status", () => networkTime.Advance(TimeSpan.FromMinutes(1)));

        // Within the ten minutes that the next status may be away.
        networkTime.Advance(TimeSpan.FromMinutes(9));
        await Patience.UntilAsync(watchdog.IsAlive, () => "a link with nothing to send is taken for one that is stuck");
    }

    private SystemdWatchdog Watchdog(TestGateway gateway) =>
        new(
            new SystemdNotifier(), gateway.Services.GetRequiredService<OutboxFiller>(), gateway.Services.GetRequiredService<ReadingPublisher>(),
            gateway.Services.GetRequiredService<IOptions<SamplingOptions>>(), _time);
}
