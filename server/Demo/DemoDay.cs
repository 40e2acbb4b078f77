namespace PavementWatch.Server.Demo;

/// <summary>A day in Ferngate that the demo can run, with the weather it comes out of.</summary>
internal sealed class DemoDay
{
    private readonly TimeSpan _offset;
    private readonly Func<DateTimeOffset, DemoSky> _sky;

    private DemoDay(string name, string words, DateTimeOffset morning, Func<DateTimeOffset, DemoSky> sky) =>
        (Name, Words, Morning, _offset, _sky) = (name, words, morning.ToUniversalTime(), morning.Offset, sky);

    /// <summary>Hot and clear, with one bank of cloud.</summary>
    public static DemoDay Summer { get; } = new("summer", "a hot July day", new(2026, 7, 14, 8, 0, 0, TimeSpan.FromHours(-5)), DemoWeather.Summer)
    {
        SilentFromHour = 13,
        Look =
        [
            "North Gate plaza is too hot before noon, while the grass of Orchard Green beside it stays far cooler; gateway quarry loses its",
            "network from 13:00 to 13:40, and its steps are estimated; the cloud at 15:10 cools the plaza for a while and is no all-clear.",
        ],
        Walks =
        [
            new("Boulder", "Ines", 8, 30, 30, "Went early, before the plaza warms, and came back over the grass.", ["north-gate-plaza", "orchard-green"]),
            new("Pickle", "Tobias", 11, 30, 15, "Kept short and on the grass: the plaza beside it was about to pass its limit or over it.", ["orchard-green", "north-gate-plaza"]),
            new("Wren", "Ines", 18, 30, 40, "Planned for the evening, when the boards are in shade.", ["mill-footbridge", "sandpit-corner"]),
        ],
    };

    /// <summary>The cloud of a mild day breaks at night; the ground freezes before sunrise and is free of frost by noon.</summary>
    public static DemoDay Winter { get; } = new("winter", "a frosty January morning", new(2026, 1, 13, 3, 0, 0, TimeSpan.FromHours(-6)), DemoWeather.Winter)
    {
        IsWinter = true,
        SilentFromHour = 8.5,
        Look =
        [
            "the boards of Mill Footbridge freeze first and are bitterly cold at sunrise (07:43); gateway quarry loses its network from 08:30 to",
            "09:10, and its steps are estimated; they lie in shade until eleven and thaw last. By noon it is above freezing everywhere, though ice may lie until two.",
        ],
        Walks =
        [
            new("Boulder", "Ines", 6, 30, 30, "Kept slow, for all of it froze; paws rinsed after.", ["north-gate-plaza", "orchard-green"]),
            new("Pickle", "Tobias", 9, 30, 15, "Kept short: white frost on the green and on the plaza beside it.", ["orchard-green", "north-gate-plaza"]),
            new("Wren", "Ines", 12, 30, 40, "Planned for noon, when the boards have thawed; slow where ice may lie yet.", ["mill-footbridge", "sandpit-corner"]),
        ],
    };

    public static IReadOnlyList<DemoDay> All { get; } = [Summer, Winter];

    /// <summary>As it is typed behind <c>--day</c>.</summary>
    public string Name { get; }

    /// <summary>In a sentence, e.g. <c>a hot July day</c>.</summary>
    public string Words { get; }

    /// <summary>When the demo begins.</summary>
    public DateTimeOffset Morning { get; }

    public bool IsWinter { get; private init; }

    /// <summary>What is worth a look, for people: lines of one sentence.</summary>
    public required IReadOnlyList<string> Look { get; init; }

    public required IReadOnlyList<DemoWalk> Walks { get; init; }

    /// <summary>Hour of the day at which <see cref="DemoTown.GatewayThatGoesSilent"/> loses its network for forty minutes.</summary>
    public required double SilentFromHour { get; init; }

    public DateTimeOffset SilentFrom => Midnight.AddHours(SilentFromHour);

    public DateTimeOffset SilentTo => SilentFrom.AddMinutes(40);

    /// <summary>The beginning of the day by Ferngate's clocks.</summary>
    public DateTimeOffset Midnight => new DateTimeOffset(Morning.ToOffset(_offset).Date, _offset).ToUniversalTime();

    /// <summary>The air and the sky over Ferngate; also on the weeks before.</summary>
    public DemoSky At(DateTimeOffset at) => _sky(at);

    /// <summary>A moment by Ferngate's clocks, some days before.</summary>
    public DateTimeOffset Clock(int daysAgo, int hour, int minute) => Midnight.AddDays(-daysAgo).AddHours(hour).AddMinutes(minute);

    /// <summary>A moment as Ferngate's clocks show it; no clock is changed in the weeks that the demo looks at.</summary>
    public DateTime Local(DateTimeOffset at) => at.ToOffset(_offset).DateTime;

    /// <summary>Its name, as the command's help says it.</summary>
    public override string ToString() => Name;
}

/// <summary>A walk of the day, by Ferngate's clocks.</summary>
internal sealed record DemoWalk(string Dog, string Walker, int Hour, int Minute, int Minutes, string Note, IReadOnlyList<string> Spots);
