namespace PavementWatch.Core.Wire;

/// <summary>One record of a pack that was kept out, and why.</summary>
/// <param name="Position">Place in the pack, counted from 0.</param>
/// <param name="Name">Its name, shortened to <see cref="LongestName"/> characters.</param>
/// <param name="Reason">Why; low in number, fit for a counter.</param>
/// <param name="Field">The label at fault.</param>
/// <param name="Detail">What was found and what was expected.</param>
/// <param name="Remedy">What whoever sends it should do.</param>
/// <param name="Spoils">Whether it took its reading (spot and time) with it.</param>
public sealed record RefusedRecord(
    int Position, string Name, RefusalReason Reason, string Field, string Detail, string Remedy, bool Spoils)
{
    /// <summary>Longest name kept, in characters; what a stranger sends does not fill a log.</summary>
    public const int LongestName = 80;

    /// <summary>The refusal as a sentence for a log or an answer.</summary>
    public override string ToString() => $"record {Position} '{Name}', {Field}: {Detail}; {Remedy}";
}

/// <summary>Why a record was kept out.</summary>
public enum RefusalReason
{
    /// <summary>Not as RFC 8428 wants a record: no value, two values, a label of the wrong type.</summary>
    MalformedRecord = 0,

    /// <summary>The name does not begin with a spot's name and a slash.</summary>
    BadName,

    /// <summary>A quantity that we do not know; kept out and counted, harmless.</summary>
    UnknownName,

    /// <summary>Another unit than the quantity's, or none.</summary>
    WrongUnit,

    /// <summary>A value that is not a finite number.</summary>
    NotANumber,

    /// <summary>Outside the range of the sensor or of the world.</summary>
    OutOfRange,

    /// <summary>Relative to "now" or before 1978-07-04: the sender's clock was not set.</summary>
    TimeNotAbsolute,

    /// <summary>After the year 9999: no clock says so.</summary>
    NoSuchTime,

    /// <summary>The same quantity of the same spot and time a second time with another value; the first is kept.</summary>
    Contradiction,

    /// <summary>A quality or a doubt that we do not know.</summary>
    UnknownQuality,
}
