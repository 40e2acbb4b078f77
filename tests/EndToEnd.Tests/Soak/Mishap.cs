namespace PavementWatch.EndToEnd.Tests.Soak;

/// <summary>What can go wrong in a soak.</summary>
internal enum MishapKind
{
    /// <summary>kill -9 of the gateway; it starts anew.</summary>
    KillGateway,

    /// <summary>The same, and its clock is wrong when it starts.</summary>
    KillGatewayWrongClock,

    /// <summary>kill -9 of the server; it starts anew.</summary>
    KillServer,

    /// <summary>No network for a while.</summary>
    NoNetwork,

    /// <summary>The server hears, its answers are lost; then the connection is.</summary>
    AnswersLost,

    /// <summary>The gateway's disk is full for a while.</summary>
    DiskFull,

    /// <summary>A bad cable for a while.</summary>
    BusNoise,

    /// <summary>Somebody sets the gateway's clock.</summary>
    ClockStep,

    /// <summary>The gateway's clock is years ahead for a while.</summary>
    ClockYearsAhead,

    /// <summary>The server's disk is full for a while.</summary>
    ServerDiskFull,

    /// <summary>Somebody sets the server's clock, and sets it right after a while.</summary>
    ServerClockStep,

    /// <summary>The push service takes messages and does not answer, for a while.</summary>
    PushHangs,

    /// <summary>The push service answers 500 for a while.</summary>
    PushFails,

    /// <summary>The push service answers 500 with a body that does not end, for a while.</summary>
    PushNeverEnds,

    /// <summary>A backup is made, and after a while, when the server was killed, restored.</summary>
    Restore,
}

/// <summary>One event of a soak, by the simulated time since its beginning.</summary>
/// <param name="At">When.</param>
/// <param name="Kind">What.</param>
/// <param name="Ends">Whether this is its end, where it lasts.</param>
/// <param name="ClockBy">How far the clock is set, where it is.</param>
/// <param name="Share">Share of damaged transfers, where the cable is bad.</param>
internal sealed record Mishap(TimeSpan At, MishapKind Kind, bool Ends, TimeSpan ClockBy, double Share)
{
    public static readonly TimeSpan YearsAhead = TimeSpan.FromDays(1200);

    public override string ToString() =>
        $"{At:d\\.hh\\:mm} {Kind}{(Ends ? " ends" : "")}{(ClockBy != TimeSpan.Zero ? $" by {ClockBy:c}" : "")}{(Share > 0 ? $" {Share:P0}" : "")}";

    /// <summary>Everything that goes wrong in a span, drawn from the source; every kind happens before one comes again.</summary>
    public static List<Mishap> Draw(Random random, TimeSpan span)
    {
        List<Mishap> mishaps = [];
        List<MishapKind> bag = [];
        TimeSpan Hours(double from, double to) => TimeSpan.FromHours(from + ((to - from) * random.NextDouble()));
        for (var at = Hours(0.4, 0.8); at < span; at += Hours(0.3, 0.9))
        {
            if (bag.Count == 0)
                bag.AddRange(Enum.GetValues<MishapKind>());
            var kind = bag[random.Next(bag.Count)];
            bag.Remove(kind);
            var clock = kind switch
            {
                MishapKind.KillGatewayWrongClock => Step(random, 50),
                MishapKind.ClockStep => Step(random, random.Next(2) == 0 ? 50 : 300),
                MishapKind.ClockYearsAhead => YearsAhead,
                MishapKind.ServerClockStep => Step(random, 15),
                _ => TimeSpan.Zero,
            };
            mishaps.Add(new Mishap(at, kind, false, clock, kind == MishapKind.BusNoise ? 0.02 + (0.5 * random.NextDouble()) : 0));
            // What was set, cut, filled or hung is mended after a while; kills and most steps of the gateway's clock are not.
            if (kind is not (MishapKind.KillGateway or MishapKind.KillGatewayWrongClock or MishapKind.KillServer or MishapKind.ClockStep))
                mishaps.Add(new Mishap(at + Hours(0.2, 0.9), kind, true, -clock, 0));
        }

        return [.. mishaps.Where(mishap => mishap.At < span).OrderBy(mishap => mishap.At)];
    }

    /// <summary>A step of the clock, to the second or by whole minutes, as people and time services set it.</summary>
    private static TimeSpan Step(Random random, int mostMinutes)
    {
        var step = random.Next(2) == 0 ? TimeSpan.FromMinutes(random.Next(1, mostMinutes)) : TimeSpan.FromSeconds(random.Next(1, mostMinutes * 60));
        return random.Next(2) == 0 ? step : -step;
    }
}
