namespace PavementWatch.Core.Wire;

/// <summary>What came of reading a SenML pack.</summary>
public abstract record SenMlOutcome
{
    private SenMlOutcome()
    {
    }

    /// <summary>It is a pack.</summary>
    /// <param name="Records">Its resolved records in time order; those of one time in the pack's order.</param>
    /// <param name="Faults">Records that were kept out, in the pack's order.</param>
    public sealed record Parsed(IReadOnlyList<SenMlRecord> Records, IReadOnlyList<SenMlFault> Faults) : SenMlOutcome;

    /// <summary>It is none, and nothing of it may be used.</summary>
    /// <param name="Reason">Why; low in number, fit for a counter.</param>
    /// <param name="Field">Where: a label with its record's place, or the byte at which reading stopped.</param>
    /// <param name="Detail">What was found and what was expected.</param>
    /// <param name="Remedy">What whoever sends it should do.</param>
    public sealed record Malformed(SenMlMistake Reason, string Field, string Detail, string Remedy) : SenMlOutcome
    {
        /// <summary>The outcome as a sentence for a log or an answer.</summary>
        public override string ToString() => $"{Field}: {Detail}; {Remedy}";
    }
}

/// <summary>Why a payload is not a SenML pack.</summary>
public enum SenMlMistake
{
    /// <summary>Not JSON, not UTF-8, cut short, or nested too deep.</summary>
    NotJson = 0,

    /// <summary>JSON, but not an array of objects.</summary>
    NotAPack,

    /// <summary>A base field of the wrong type or given twice; what follows cannot be resolved.</summary>
    BaseField,

    /// <summary>A version that we do not understand, or more than one in a pack.</summary>
    Version,

    /// <summary>A label ending in <c>_</c>, which must be understood, and is not.</summary>
    MandatoryLabel,
}
