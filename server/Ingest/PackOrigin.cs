using System.Globalization;
using MQTTnet.Packets;
using PavementWatch.Core.Readings;

namespace PavementWatch.Server.Ingest;

/// <summary>What a pack says of itself beside its readings.</summary>
/// <param name="Number">Its number, when it has one.</param>
/// <param name="Age">How long ago its newest reading was taken when it was sent, by a clock that nobody sets: MQTT 5 user property <c>age</c>, whole milliseconds.</param>
/// <param name="IsQueued">Whether a broker between may have held it for long: then its age may have grown on the way.</param>
internal readonly record struct PackOrigin(PackNumber? Number, TimeSpan? Age, bool IsQueued)
{
    private const long MostAgeMilliseconds = 24L * 3600 * 1000;

    // What two clocks that are kept differ by.
    private static readonly TimeSpan Agreed = TimeSpan.FromMinutes(1);

    /// <summary>Up to here a reading's own date and its age agree: what the way takes. More, and a clock that is set by less than a
    /// reading's interval would put a newer reading before an older one.</summary>
    public static readonly TimeSpan OnItsWay = TimeSpan.FromSeconds(5);

    /// <summary>Reads what the properties say.</summary>
    /// <returns>The origin; and what is wrong with a number, or <c>null</c>.</returns>
    public static (PackOrigin Origin, string? Fault) Read(IReadOnlyList<MqttUserProperty>? properties, bool isQueued)
    {
        var (number, fault) = PackNumber.Read(properties);
        var text = properties?.FirstOrDefault(property => property.Name == "age")?.ReadValueAsString();
        TimeSpan? age = long.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out var milliseconds) && milliseconds <= MostAgeMilliseconds
            ? TimeSpan.FromMilliseconds(milliseconds)
            : null;
        return (new PackOrigin(number, age, isQueued), fault);
    }

    /// <summary>The moment, by this server's clock, at which a reading counts as measured.</summary>
    /// <remarks>
    /// A gateway's age is believed over any calendar, so that neither its clock nor ours can make an old reading look new
    /// or a new one old. A gateway that counts its packs tells the age of what it has just taken; what comes without is
    /// its backlog. Who does neither is judged by the date.
    /// </remarks>
    /// <param name="reading">The reading.</param>
    /// <param name="newest">The date of the newest reading of its pack.</param>
    /// <param name="now">Now, by this server's clock.</param>
    /// <returns>The moment; <c>null</c> for history, which says nothing of how the spot is now.</returns>
    public DateTimeOffset? CountsAt(Reading reading, DateTimeOffset newest, DateTimeOffset now)
    {
        if (Age is not { } age)
            return Number is null && reading.MeasuredAt - now <= Agreed ? reading.MeasuredAt : null;
        var byAge = now - age - (newest - reading.MeasuredAt);
        return (byAge - reading.MeasuredAt).Duration() <= OnItsWay || (IsQueued && reading.MeasuredAt < byAge)
            ? reading.MeasuredAt
            : byAge;
    }
}
