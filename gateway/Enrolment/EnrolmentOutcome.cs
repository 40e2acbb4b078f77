namespace PavementWatch.Gateway.Enrolment;

/// <summary>What came of asking the server with a code.</summary>
internal abstract record EnrolmentOutcome
{
    private EnrolmentOutcome()
    {
    }

    /// <summary>The server gave credentials.</summary>
    internal sealed record Enrolled(EnrolmentReply Reply) : EnrolmentOutcome;

    /// <summary>It did not; the sentence has the remedy.</summary>
    internal sealed record Refused(string Reason) : EnrolmentOutcome;
}
