namespace PavementWatch.Gateway.Buses;

/// <summary>Why a probe gave no value this time. Counted by name.</summary>
internal enum RejectReason
{
    /// <summary>Nobody acknowledged at the address, or the bus itself is missing.</summary>
    NoAnswer = 0,

    /// <summary>A check byte did not fit its frame, or a frame read twice differed.</summary>
    CheckByte,

    /// <summary>The sensor itself says its value is wrong.</summary>
    ErrorFlag,

    /// <summary>A value the sensor's data sheet does not allow.</summary>
    OutOfRange,

    /// <summary>The sensor has not measured yet, or lost its settings.</summary>
    NotReady,

    /// <summary>Something else answers at the address.</summary>
    WrongDevice,
}
