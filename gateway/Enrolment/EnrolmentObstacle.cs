namespace PavementWatch.Gateway.Enrolment;

/// <summary>What an enrolment by a note waits for; the number is how often the lamp flashes after its long flash.</summary>
internal enum EnrolmentObstacle
{
    /// <summary>Nothing: it is under way or done.</summary>
    None = 0,

    /// <summary>A network, or a server that can be reached at the note's address.</summary>
    Network = 1,

    /// <summary>A certificate that can be trusted: this machine's clock may be wrong, or the fingerprint.</summary>
    Certificate = 2,

    /// <summary>A server that is ready: it answers, but not now or not as one.</summary>
    Server = 3,

    /// <summary>A new code: this one is used, ended or was never given out.</summary>
    Code = 4,

    /// <summary>A note that can be read and used.</summary>
    Note = 5,

    /// <summary>A folder that takes the credentials.</summary>
    Disk = 6,
}
