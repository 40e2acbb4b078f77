using System.Data.Common;
using System.Security.Claims;
using PavementWatch.Dashboards.People;
using PavementWatch.Server.Access;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.People;

/// <summary>The live streams that are open: a few for each person, and none longer than its sign-in.</summary>
internal sealed class LiveStreams(Sessions sessions, ILogger<LiveStreams> logger) : ServerBackgroundService
{
    /// <summary>Streams of one person at most. The oldest goes first: a phone leaves dead ones behind, and the newest is the one that is looked at.</summary>
    public const int MostPerPerson = 5;

    /// <summary>How often sign-ins are looked at, by the machine's time: a command in another process may have ended one.</summary>
    private static readonly TimeSpan Round = TimeSpan.FromSeconds(2);

    private readonly Lock _lock = new();
    private readonly List<LiveStream> _open = [];

    /// <summary>Opens one; the person's oldest ends where there would be too many.</summary>
    public LiveStream Open(ClaimsPrincipal visitor)
    {
        var stream = new LiveStream(visitor, Close);
        List<LiveStream> surplus;
        lock (_lock)
        {
            var mine = _open.Where(s => s.PersonId == stream.PersonId).ToList();
            surplus = [.. mine.Take(mine.Count - MostPerPerson + 1)];
            _open.RemoveAll(surplus.Contains);
            _open.Add(stream);
        }

        foreach (var old in surplus)
            old.End(elsewhere: true);
        return stream;
    }

    /// <summary>Ends the streams whose sign-in is over; the others go on in the unit that their bearer has chosen. Called after each change of these.</summary>
    public async Task EnforceAsync(CancellationToken cancellationToken)
    {
        List<LiveStream> open;
        lock (_lock)
            open = [.. _open];
        if (open.Count == 0)
            return;
        var holding = await sessions.HoldingAsync([.. open.Select(s => s.Bearer).Distinct()], cancellationToken);
        foreach (var stream in open)
        {
            if (holding.TryGetValue(stream.Bearer, out var unit))
                stream.Unit = unit;
            else
                stream.End();
        }
    }

    protected override async Task RunAsync(CancellationToken stoppingToken)
    {
        using var timer = new PeriodicTimer(Round, TimeProvider.System);
        try
        {
            while (await timer.WaitForNextTickAsync(stoppingToken))
            {
                try
                {
                    await EnforceAsync(stoppingToken);
                }
                catch (DbException failure)
                {
                    logger.SessionsNotRead(failure.Message);
                }
            }
        }
        catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
        {
            // The server stops.
        }
    }

    private void Close(LiveStream stream)
    {
        lock (_lock)
            _open.Remove(stream);
    }
}

/// <summary>One open stream.</summary>
internal sealed class LiveStream(ClaimsPrincipal visitor, Action<LiveStream> close) : IDisposable
{
    private readonly Lock _lock = new();
    private readonly CancellationTokenSource _ended = new();
    private volatile int _unit = (int)Account.Unit(visitor);
    private bool _closed;

    /// <summary>Whose it is.</summary>
    public int? PersonId { get; } = Visitor.PersonId(visitor);

    /// <summary>The sign-in it was opened by.</summary>
    public ClaimsPrincipal Bearer { get; } = visitor;

    /// <summary>In which unit its bearer reads temperatures; it may be changed under way.</summary>
    public TemperatureUnit Unit { get => (TemperatureUnit)_unit; set => _unit = (int)value; }

    /// <summary>Cancelled when it has to end.</summary>
    public CancellationToken Ended => _ended.Token;

    /// <summary>Whether it ends because its person has opened newer ones.</summary>
    public bool IsElsewhere { get; private set; }

    /// <summary>Ends it; its reader closes it then.</summary>
    public void End(bool elsewhere = false)
    {
        lock (_lock)
        {
            if (_closed)
                return;
            IsElsewhere = elsewhere;
            _ended.Cancel();
        }
    }

    public void Dispose()
    {
        lock (_lock)
        {
            if (_closed)
                return;
            _closed = true;
        }

        close(this);
        _ended.Dispose();
    }
}
