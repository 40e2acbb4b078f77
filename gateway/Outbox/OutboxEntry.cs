using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Outbox;

/// <summary>A reading on its way into the outbox, with the steady clock beside the calendar.</summary>
/// <param name="Reading">The reading; its time counts only when <paramref name="Dated"/>.</param>
/// <param name="Boot">The machine's boot during which it was taken.</param>
/// <param name="SinceBoot">When it was taken, by the clock that nobody sets.</param>
/// <param name="Dated">Whether the reading's time is known to be right; otherwise it is held until it can be dated.</param>
internal sealed record TakenReading(Reading Reading, string Boot, TimeSpan SinceBoot, bool Dated);

/// <summary>A dated reading that waits for the broker.</summary>
/// <param name="Number">Its place in the order; negative while it waits in memory only.</param>
/// <param name="Reading">The reading.</param>
/// <param name="Boot">The machine's boot during which it was taken.</param>
/// <param name="SinceBoot">When it was taken, by the clock that nobody sets.</param>
internal sealed record OutboxEntry(long Number, Reading Reading, string Boot, TimeSpan SinceBoot);

/// <summary>What became of readings given to the outbox.</summary>
/// <param name="Stored">New ones, now durable.</param>
/// <param name="Duplicates">Ones already there by spot and time, left as they were.</param>
/// <param name="InMemory">New ones the disk did not take; they wait in memory and are lost with the power.</param>
internal sealed record AppendOutcome(int Stored, int Duplicates, int InMemory);

/// <summary>Why readings left the outbox other than to the broker, or did not enter it. Kept over restarts.</summary>
internal enum OutboxCount
{
    /// <summary>Already there by spot and time.</summary>
    Duplicate,

    /// <summary>Taken together with others into a ten-minute mean.</summary>
    Thinned,

    /// <summary>Given up for want of room, everything being thinned already.</summary>
    GivenUp,

    /// <summary>Refused by the server for good; set aside in the table <c>refused</c>.</summary>
    Refused,

    /// <summary>Taken during a boot whose time never became known.</summary>
    Undatable,

    /// <summary>Times the file was found damaged and set aside.</summary>
    DamagedFile,

    /// <summary>Brought over from a file that was set aside.</summary>
    Rescued,

    /// <summary>Times the file was of an edition this program does not know, and set aside.</summary>
    OtherEdition,

    /// <summary>Times a reading was sent back because the server's clock and its date are too far apart.</summary>
    PutOff,
}

/// <summary>The outbox at a glance, for status and check.</summary>
/// <param name="Waiting">Dated readings on disk that wait for the broker.</param>
/// <param name="Held">Readings on disk that wait for the time to become known.</param>
/// <param name="InMemory">Readings that wait in memory because the disk takes none.</param>
/// <param name="OldestWaiting">Time of the first waiting reading.</param>
/// <param name="UsedBytes">Bytes of the file that hold something.</param>
/// <param name="Fault">What keeps the disk from taking readings, with the remedy; <c>null</c> when it takes them.</param>
/// <param name="Counts">How many went which other way since the file was made.</param>
internal sealed record OutboxState(
    long Waiting,
    long Held,
    int InMemory,
    DateTimeOffset? OldestWaiting,
    long UsedBytes,
    string? Fault,
    IReadOnlyDictionary<OutboxCount, long> Counts)
{
    /// <summary>Of those waiting, how many the server put off: its clock and their dates are too far apart.</summary>
    public long PutOff { get; init; }
}
