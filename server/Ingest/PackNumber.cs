using System.Globalization;
using MQTTnet.Packets;

namespace PavementWatch.Server.Ingest;

/// <summary>The number a gateway gave a pack: MQTT 5 user properties <c>boot</c> and <c>seq</c>.</summary>
/// <param name="Boot">Names the gateway's run; a new one starts the count afresh. 1 to 64 characters.</param>
/// <param name="Sequence">Place in that run, one more each pack.</param>
internal readonly record struct PackNumber(string Boot, long Sequence)
{
    private const int LongestBoot = 64;
    private const long HighestSequence = 1L << 53;

    /// <summary>Reads the number.</summary>
    /// <returns>The number, or <c>null</c>; and what is wrong when there are properties but no number.</returns>
    public static (PackNumber? Number, string? Fault) Read(IReadOnlyList<MqttUserProperty>? properties)
    {
        var boot = Find(properties, "boot");
        var sequence = Find(properties, "seq");
        if (boot is null && sequence is null)
            return (null, null);
        if (boot is not { Length: > 0 and <= LongestBoot })
            return (null, $"user property boot is {(boot is null ? "missing" : $"{boot.Length} characters long")}, expected 1 to {LongestBoot}");
        return long.TryParse(sequence, NumberStyles.None, CultureInfo.InvariantCulture, out var number) && number <= HighestSequence
            ? (new PackNumber(boot, number), null)
            : (null, "user property seq is not a whole number from 0 to 2^53");
    }

    private static string? Find(IReadOnlyList<MqttUserProperty>? properties, string name) =>
        properties?.FirstOrDefault(property => property.Name == name)?.ReadValueAsString();
}
