namespace PavementWatch.Server.Broker;

/// <summary>Why the broker turned something away, as the counter's <c>reason</c> tag has it, and what else it tells once a minute.</summary>
internal static class BrokerReason
{
    public const string WrongPassword = "wrong-password";
    public const string WrongProtocol = "wrong-protocol";
    public const string WrongClientId = "wrong-client-id";
    public const string ForeignTopic = "foreign-topic";
    public const string ForeignSubscription = "foreign-subscription";
    public const string PacketTooLarge = "packet-too-large";
    public const string TooManyConnections = "too-many-connections";
    public const string TooManyWrongPasswords = "too-many-wrong-passwords";
    public const string TooManyBadPacks = "too-many-bad-packs";
    public const string TooManyMessages = "too-many-messages";
    public const string PackFailed = "pack-failed";
    public const string Connected = "connected";
    public const string Disconnected = "disconnected";
    public const string RightEnded = "right-ended";
    public const string RegistryFailed = "registry-failed";
}
