namespace PavementWatch.Server.Ingest;

/// <summary>What came of a pack of readings; decides how its sender is answered.</summary>
internal abstract record IngestOutcome
{
    private IngestOutcome()
    {
    }

    /// <summary>What was good of it is durable. Never to be sent again.</summary>
    /// <param name="StoredCount">Readings that were new.</param>
    /// <param name="DuplicateCount">Readings the store had already.</param>
    /// <param name="RefusedCount">Records and readings kept out.</param>
    /// <param name="FirstRefusal">The first of these, with its remedy; <c>null</c> when there was none.</param>
    public sealed record Accepted(int StoredCount, int DuplicateCount, int RefusedCount, string? FirstRefusal) : IngestOutcome
    {
        public override string ToString() =>
            $"stored {StoredCount}, already there {DuplicateCount}, refused {RefusedCount}"
            + (FirstRefusal is null ? "" : $"; first: {FirstRefusal}");
    }

    /// <summary>Nothing of it could be used, and the same bytes never will be.</summary>
    /// <param name="Reason">Why; one of <see cref="IngestReason"/>.</param>
    /// <param name="Detail">Where, what was found, what was expected, and the remedy.</param>
    public sealed record Refused(string Reason, string Detail) : IngestOutcome
    {
        public override string ToString() => Detail;
    }

    /// <summary>
    /// What was dated near this server's clock is durable; the rest is dated so far from it that one of the two clocks is
    /// wrong, and is to be kept by its sender and sent again later.
    /// </summary>
    /// <param name="StoredCount">Readings that were new and are durable.</param>
    /// <param name="WaitingCount">Readings that the sender keeps.</param>
    /// <param name="Detail">What was found, and the remedy.</param>
    public sealed record OtherClock(int StoredCount, int WaitingCount, string Detail) : IngestOutcome
    {
        public override string ToString() => Detail;
    }

    /// <summary>The damaged store does not take it; it is kept as it came, and stored at a later start. Not to be sent again.</summary>
    public sealed record SetAside(string Detail) : IngestOutcome
    {
        public override string ToString() => Detail;
    }

    /// <summary>It could not be kept just now; to be sent again as it is.</summary>
    public sealed record StorageFaults(string Detail) : IngestOutcome
    {
        public override string ToString() => Detail;
    }
}

/// <summary>Reasons of the server's own, beside those of <see cref="Core.Wire.RefusalReason"/> and <see cref="Core.Wire.SenMlMistake"/>, as the counters' <c>reason</c> tag has them.</summary>
internal static class IngestReason
{
    public const string PayloadTooLarge = "payload-too-large";
    public const string OtherClock = "other-clock";
    public const string StoreDamaged = "store-damaged";
    public const string SentBack = "sent-back";
    public const string PacksMissing = "packs-missing";
    public const string UnknownSpot = "unknown-spot";
    public const string BadPackNumber = "bad-pack-number";
    public const string MalformedStatus = "malformed-status";

    /// <summary>The tag of a reason that core names.</summary>
    public static string Of<T>(T reason)
        where T : struct, Enum =>
        System.Text.Json.JsonNamingPolicy.KebabCaseLower.ConvertName(reason.ToString());
}
