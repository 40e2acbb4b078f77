namespace PavementWatch.Core.Wire;

/// <summary>What a topic carries. The zero is the cautious one.</summary>
public enum TopicKind
{
    /// <summary>Not one of ours.</summary>
    Unknown = 0,

    /// <summary>Packs of readings, gateway to server; quality of service 1, not retained.</summary>
    Readings,

    /// <summary>Whether the gateway is there; retained, the will sets it to offline.</summary>
    Status,

    /// <summary>Settings, server to gateway; retained.</summary>
    Settings,
}
