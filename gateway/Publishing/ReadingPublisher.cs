using Microsoft.Extensions.Options;
using PavementWatch.Core.Wire;
using PavementWatch.Gateway.Clock;
using PavementWatch.Gateway.Outbox;
using PavementWatch.Gateway.Settings;

namespace PavementWatch.Gateway.Publishing;

/// <summary>Empties the outbox into the broker, pack after pack, and keeps at it through every loss of the network.</summary>
/// <remarks>
/// One pack is under way at a time. Its number goes up only when the broker has acknowledged it, so a pack whose
/// acknowledgement was lost comes again under the same number, and the server stores its readings once.
/// </remarks>
internal sealed class ReadingPublisher(
    ReadingOutbox outbox,
    StatusReporter status,
    LinkFault fault,
    ServerSettings settings,
    GatewayRun run,
    NetworkTime networkTime,
    IWallClock clock,
    TimeProvider time,
    IOptions<PublishingOptions> publishing,
    IOptions<GatewayOptions> gateway,
    ILogger<ReadingPublisher> logger) : BackgroundService
{
    /// <summary>Readings taken from the outbox at a time; about one full pack.</summary>
    private const int MostReadings = 2000;

    /// <summary>A reading taken no longer ago than this is sent with its age; what is older is backlog.</summary>
    private static readonly TimeSpan Live = TimeSpan.FromMinutes(10);

    /// <summary>A connection that stood so long makes the next failure a first one again, and whatever kept ending it is over.</summary>
    /// <remarks>
    /// At least twice the longest pause: two gateways under one name end each other's connection once in each pause, and
    /// neither may ever count as steady.
    /// </remarks>
    private readonly TimeSpan _steady = TimeSpan.FromTicks(Math.Max(TimeSpan.FromMinutes(5).Ticks, 2 * publishing.Value.LongestPause.Ticks));

    /// <summary>Connections in a row that did not last, from which on a second gateway of the same name is thought of: not every broker says so.</summary>
    private const int ShortOnesToWonder = 4;

    /// <summary>Room in each step's time before it counts as one that never ends.</summary>
    private static readonly TimeSpan Grace = TimeSpan.FromMinutes(1);

    /// <summary>Readings dated alike: by a clock that was not set between them.</summary>
    private static readonly TimeSpan Alike = TimeSpan.FromSeconds(2);

    private readonly PublishingOptions _options = publishing.Value;
    private readonly BackOff _backOff = new(
        publishing.Value.FirstPause, publishing.Value.LongestPause, new Random(HashCode.Combine(gateway.Value.Id, run.Id)));
    // Of its own: a server that now takes a pack and now does not has nothing to do with the connection.
    private readonly BackOff _notNow = new(
        publishing.Value.FirstPause, publishing.Value.LongestPause, new Random(HashCode.Combine(run.Id, gateway.Value.Id)));
    private long _sequence = 1;
    private long _statusAt;
    private long? _connectedAt;
    private int _shortInARow;
    private volatile Step _step = new(networkTime.Provider.GetTimestamp(), Grace);

    /// <summary>What the publisher is at, and how long that may take.</summary>
    private sealed record Step(long Since, TimeSpan AtMost);

    /// <summary>Whether it has been at one step for far longer than any peer can hold it up: only a new start helps.</summary>
    public bool IsStuck => _step is var step && networkTime.Provider.GetElapsedTime(step.Since) > step.AtMost + Grace;

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        while (!stoppingToken.IsCancellationRequested)
        {
            try
            {
                // Connecting and subscribing, each in its time.
                Begin(2 * _options.AnswerTimeout);
                await using var link = await MqttLink.ConnectAsync(_options, gateway.Value.GatewayId, TakeSettings, stoppingToken);
                await PublishAsync(link, stoppingToken);
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                return;
            }
            catch (LinkException error)
            {
                Settle(isEnd: true);
                var fault = Fault(error);
                var pause = _backOff.Next();
                logger.NotConnected(fault, pause.TotalSeconds);
                await PauseAsync(pause, stoppingToken);
            }
            catch (Exception error)
            {
                Settle(isEnd: true);
                logger.Unforeseen(error);
                await PauseAsync(_backOff.Next(), stoppingToken);
            }
        }
    }

    private void TakeSettings(byte[] message)
    {
        settings.Receive(message);
        status.Changed();
    }

    private async Task PublishAsync(MqttLink link, CancellationToken stoppingToken)
    {
        try
        {
            await SendStatusAsync(link, stoppingToken);
            _connectedAt = networkTime.Provider.GetTimestamp();
            logger.Connected(_options.BrokerHost, _options.Port, gateway.Value.Id, outbox.State().Waiting);
            while (true)
            {
                await EmptyOutboxAsync(link, stoppingToken);
                if (await WaitAsync(link, stoppingToken))
                    await SendStatusAsync(link, stoppingToken);
                Settle(isEnd: false);
            }
        }
        finally
        {
            if (stoppingToken.IsCancellationRequested && !link.Lost.IsCancellationRequested)
                await SayGoodbyeAsync(link);
        }
    }

    private async Task EmptyOutboxAsync(MqttLink link, CancellationToken stoppingToken)
    {
        while (outbox.Peek(MostReadings) is { Count: > 0 } entries)
        {
            if (await SendAsync(link, entries, stoppingToken) is PackAnswer.NotNow(var reason))
            {
                var pause = _notNow.Next();
                logger.NotNow(reason, pause.TotalSeconds);
                await PauseAsync(pause, stoppingToken);
                if (link.Lost.IsCancellationRequested)
                    throw link.LostAs();
            }
            else
            {
                _notNow.Reset();
            }

            // A backlog of weeks takes its time, and the server wants to know how it goes.
            if (status.TakeChange() || StatusDueIn == TimeSpan.Zero)
                await SendStatusAsync(link, stoppingToken);
            Settle(isEnd: false);
        }
    }

    private async Task SendStatusAsync(MqttLink link, CancellationToken stoppingToken)
    {
        Begin(_options.AnswerTimeout);
        await link.SendStatusAsync(status.Write(), stoppingToken);
        _statusAt = time.GetTimestamp();
    }

    private TimeSpan StatusDueIn =>
        _options.StatusEvery - time.GetElapsedTime(_statusAt) is var left && left > TimeSpan.Zero ? left : TimeSpan.Zero;

    /// <summary>Notes that the connection has stood long enough to be called steady.</summary>
    private void Settle(bool isEnd)
    {
        if (_connectedAt is { } since && networkTime.Provider.GetElapsedTime(since) >= _steady)
        {
            _backOff.Reset();
            if (fault.Set(null))
                status.Changed();
        }

        if (!isEnd)
            return;
        if (_connectedAt is { } from)
            _shortInARow = networkTime.Provider.GetElapsedTime(from) >= _steady ? 0 : _shortInARow + 1;
        _connectedAt = null;
    }

    /// <summary>What to say of the end of a connection; what points at a second gateway of the same name goes into the status too.</summary>
    private string Fault(LinkException error)
    {
        var isLikely = !error.IsTakenOver && _shortInARow >= ShortOnesToWonder;
        if (!error.IsTakenOver && !isLikely)
            return error.Message;
        var known = error.IsTakenOver ? error.Message : fault.Now ?? MqttLink.PerhapsTakenOver(gateway.Value.GatewayId);
        if (fault.Set(known))
            status.Changed();
        return isLikely ? $"{error.Message}; {known}" : known;
    }

    private void Begin(TimeSpan atMost) => _step = new Step(networkTime.Provider.GetTimestamp(), atMost);

    /// <summary>Sends readings in packs, stopping at the first that is not taken now.</summary>
    private async Task<PackAnswer> SendAsync(MqttLink link, IReadOnlyList<OutboxEntry> entries, CancellationToken stoppingToken)
    {
        foreach (var run in Runs(entries))
        {
            foreach (var slice in ReadingPack.Split([.. run.Select(entry => entry.Reading)]))
            {
                var sent = run.GetRange(slice.First, slice.Count);
                if (await SendPackAsync(link, sent, slice.Payload, stoppingToken) is PackAnswer.NotNow notNow)
                    return notNow;
            }
        }

        return new PackAnswer.Taken();
    }

    private async Task<PackAnswer> SendPackAsync(
        MqttLink link, List<OutboxEntry> sent, ReadOnlyMemory<byte> payload, CancellationToken stoppingToken)
    {
        Begin(_options.AnswerTimeout);
        outbox.HandOver([.. sent.Select(entry => entry.Number)]);
        var answer = await link.SendPackAsync(payload, run.Id, _sequence, AgeOfNewest(sent), stoppingToken);
        switch (answer)
        {
            case PackAnswer.Taken:
                outbox.Remove([.. sent.Select(entry => entry.Number)]);
                logger.Acknowledged(run.Id, _sequence++, sent.Count);
                return answer;
            case PackAnswer.Refused(var reason) when sent.Count == 1:
                outbox.SetAside([sent[0].Number], reason);
                return new PackAnswer.Taken();
            case PackAnswer.OtherClock(var reason) when sent.Count == 1:
                outbox.PutOff([sent[0].Number], reason);
                return new PackAnswer.Taken();
            case PackAnswer.Refused or PackAnswer.OtherClock:
                // Halves, and halves of these, until the one reading at fault stands alone.
                return await SendAsync(link, sent[..(sent.Count / 2)], stoppingToken) is PackAnswer.NotNow first
                    ? first
                    : await SendAsync(link, sent[(sent.Count / 2)..], stoppingToken);
            default:
                return answer;
        }
    }

    /// <summary>Cuts readings, in their order, where one age no longer describes them: between live ones and backlog, and where the clock was set.</summary>
    private List<List<OutboxEntry>> Runs(IReadOnlyList<OutboxEntry> entries)
    {
        var runs = new List<List<OutboxEntry>>();
        TimeSpan? began = null;
        foreach (var entry in entries)
        {
            TimeSpan? dating = IsLive(entry) ? entry.Reading.MeasuredAt - DateTimeOffset.UnixEpoch - entry.SinceBoot : null;
            if (runs.Count == 0 || (dating is null) != (began is null) || (dating - began)?.Duration() > Alike)
            {
                began = dating;
                runs.Add([]);
            }

            runs[^1].Add(entry);
        }

        return runs;
    }

    private bool IsLive(OutboxEntry entry) => entry.Boot == clock.Boot && clock.SinceBoot - entry.SinceBoot <= Live;

    private TimeSpan? AgeOfNewest(List<OutboxEntry> sent)
    {
        if (!IsLive(sent[0]))
            return null;
        var age = clock.SinceBoot - sent.Max(entry => entry.SinceBoot);
        return age > TimeSpan.Zero ? age : TimeSpan.Zero;
    }

    /// <summary>Waits for readings, for news of the status, or for its time.</summary>
    /// <returns>Whether the status is to be sent.</returns>
    private async Task<bool> WaitAsync(MqttLink link, CancellationToken stoppingToken)
    {
        var dueIn = StatusDueIn;
        Begin(dueIn);
        using var statusDue = new CancellationTokenSource(dueIn, time);
        using var waiting = CancellationTokenSource.CreateLinkedTokenSource(stoppingToken, link.Lost, statusDue.Token);
        var changed = status.WaitForChangeAsync(waiting.Token);
        var arrived = outbox.WaitAsync(waiting.Token);
        var first = await Task.WhenAny(changed, arrived);
        await waiting.CancelAsync();
        await Task.WhenAll(changed, arrived).ContinueWith(_ => { }, TaskScheduler.Default);
        // Asked only now: a change that came in just before the end of the wait would be taken and never told.
        var isChange = changed.IsCompletedSuccessfully;
        stoppingToken.ThrowIfCancellationRequested();
        if (link.Lost.IsCancellationRequested)
            throw link.LostAs();
        return isChange || first.IsCanceled;
    }

    private static async Task SayGoodbyeAsync(MqttLink link)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(3));
        try
        {
            await link.SendStatusAsync(GatewayReport.Offline, patience.Token);
            await link.CloseAsync(patience.Token);
        }
        catch (Exception error) when (error is LinkException or OperationCanceledException or MQTTnet.Exceptions.MqttCommunicationException)
        {
            // The broker publishes the will instead.
        }
    }

    private Task PauseAsync(TimeSpan pause, CancellationToken stoppingToken)
    {
        Begin(pause);
        return Task.Delay(pause, networkTime.Provider, stoppingToken).ContinueWith(_ => { }, TaskScheduler.Default);
    }
}
