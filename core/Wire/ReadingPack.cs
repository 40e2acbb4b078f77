using System.Buffers;
using System.Text.Json;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Wire;

/// <summary>Readings as a SenML pack: base name <c>{spot}/</c>, base time in Unix seconds UTC, names <c>surface</c>, <c>air</c>, <c>humidity</c>, <c>sensor</c>, <c>light</c>, <c>supply</c>, <c>spread</c>, <c>quality</c>.</summary>
public static class ReadingPack
{
    /// <summary>[B] Largest pack sent or taken: 256 KiB. Whoever receives one checks this before reading it.</summary>
    public const int MaxBytes = 256 * 1024;

    /// <summary>The media type of a pack (RFC 8428, section 12.3.1).</summary>
    public const string MediaType = "application/senml+json";

    /// <summary>How far ahead of the receiver's clock a reading may be, inclusive: what two clocks that are kept differ by, and a little.</summary>
    public static readonly TimeSpan MostAhead = TimeSpan.FromMinutes(5);

    /// <summary>How far behind the receiver's clock a reading may be, inclusive: longer than any outbox holds. Older ones come from a clock that was not set.</summary>
    public static readonly TimeSpan MostBehind = TimeSpan.FromDays(400);

    internal const string QualityName = "quality";

    /// <summary>Writes readings as one pack, in the order given.</summary>
    /// <param name="readings">The readings; times are kept to the millisecond. A doubt makes a good reading suspect.</param>
    /// <returns>The payload; possibly over <see cref="MaxBytes"/>, see <see cref="Split"/>.</returns>
    /// <exception cref="ArgumentException">A spot is <c>default</c>, or a value is not finite: JSON cannot hold it.</exception>
    public static byte[] Write(IReadOnlyList<Reading> readings)
    {
        ArgumentNullException.ThrowIfNull(readings);
        return Write(readings, 0, readings.Count).WrittenSpan.ToArray();
    }

    /// <summary>Writes readings as as many packs as the size asks for, in the order given.</summary>
    /// <param name="readings">The readings.</param>
    /// <param name="maxBytes">[B] Largest pack; at least 1024, <see cref="MaxBytes"/> unless set.</param>
    /// <returns>The packs; none for no readings.</returns>
    /// <exception cref="ArgumentException">As for <see cref="Write(IReadOnlyList{Reading})"/>.</exception>
    public static IReadOnlyList<ReadingPackSlice> Split(IReadOnlyList<Reading> readings, int maxBytes = MaxBytes)
    {
        ArgumentNullException.ThrowIfNull(readings);
        ArgumentOutOfRangeException.ThrowIfLessThan(maxBytes, 1024);
        var slices = new List<ReadingPackSlice>();
        var first = 0;
        while (first < readings.Count)
        {
            // A reading is longest where it opens a pack, so the sum is never less than the pack.
            var (count, bytes) = (0, 2);
            while (first + count < readings.Count)
            {
                bytes += Write(readings, first + count, 1).WrittenCount;
                if (count > 0 && bytes > maxBytes)
                    break;
                count++;
            }

            slices.Add(new ReadingPackSlice(Write(readings, first, count).WrittenMemory, first, count));
            first += count;
        }

        return slices;
    }

    /// <summary>Reads a pack of readings.</summary>
    /// <param name="payload">The payload, at most <see cref="MaxBytes"/>.</param>
    /// <param name="now">The receiver's clock.</param>
    /// <returns>
    /// The readings and what was kept out. A bad surface, air, humidity or quality record takes its reading with it;
    /// a bad sensor, light, supply or spread record, or one that is not known, only itself.
    /// </returns>
    public static ReadingPackOutcome Read(ReadOnlySpan<byte> payload, DateTimeOffset now) =>
        SenMl.Parse(payload, now) switch
        {
            SenMlOutcome.Parsed parsed => new ReadingPackReader(now).Read(parsed),
            SenMlOutcome.Malformed malformed => new ReadingPackOutcome.Malformed(malformed),
            var other => throw new InvalidOperationException($"no such outcome: {other.GetType().Name}"),
        };

    private static ArrayBufferWriter<byte> Write(IReadOnlyList<Reading> readings, int first, int count)
    {
        var buffer = new ArrayBufferWriter<byte>(Math.Max(256, count * 200));
        using var json = new Utf8JsonWriter(buffer);
        var writer = new ReadingPackWriter(json);
        json.WriteStartArray();
        for (var i = first; i < first + count; i++)
            writer.Add(readings[i]);
        json.WriteEndArray();
        json.Flush();
        return buffer;
    }
}
