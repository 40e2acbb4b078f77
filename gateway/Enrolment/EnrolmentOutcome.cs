namespace PavementWatch.Gateway.Enrolment;

/// <summary>What came of asking the server with a code.</summary>
internal abstract record EnrolmentOutcome
{
    private EnrolmentOutcome()
    {
    }

    /// <summary>The server gave credentials.</summary>
    internal sealed record Enrolled(EnrolmentReply Reply) : EnrolmentOutcome;

    /// <summary>It did not, but the code may still be good; the sentence has the remedy.</summary>
    internal sealed record Later(EnrolmentObstacle WaitsFor, string Reason) : EnrolmentOutcome;

    /// <summary>It did not and never will for this code; the sentence has the remedy.</summary>
    internal sealed record Never(string Reason) : EnrolmentOutcome;
}
