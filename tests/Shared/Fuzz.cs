using System.Diagnostics;
using System.Globalization;
using System.Text;

namespace PavementWatch.Tests;

/// <summary>Feeds a reader what nobody would send it: samples changed here and there, and plain noise.</summary>
/// <remarks>
/// <c>PAVEMENTWATCH_FUZZ</c> says how many inputs all targets take together, 100,000 unless set; a nightly run takes
/// 10,000,000. <c>PAVEMENTWATCH_FUZZ_SEED</c> draws others. A failure prints its input, which then becomes a sample.
/// </remarks>
internal static class Fuzz
{
    /// <summary>[characters] Longest input, so that a bound on memory can be told.</summary>
    public const int Longest = 16 * 1024;

    /// <summary>[B] What reading one input may allocate, whatever it holds.</summary>
    private const long AllocatedAlways = 2L << 20;

    /// <summary>[B] And for each of its characters.</summary>
    private const long AllocatedPerCharacter = 1024;

    /// <summary>From so many inputs of a target on it says how far it is.</summary>
    private const int Long = 50_000;

    private static readonly string[] Words =
    [
        "null", "[]", "{}", "\"\"", "-1", "0", "1e999", "-1e-999", "NaN", "Infinity", "99999999999999999999", "0.1e", "true", "\"\\ud800\"", "\0", "\uFEFF", "\r", "\n", "\r\n",
        ",", ";", "\"", "\"\"", "'", "\\", "/", "+", "#", "../", "%00", "-", "--", ":", "[", "]", "{", "}", "Z", "+14:00", "0001-01-01T00:00:00Z", "9999-12-31T23:59:59.9999999-14:00", "٣", "−5", "é", "😀",
        "\u202E", "<script>", "\"bn\":", "\"t\":", "\"v\":", "\"n\":", "\"spots\":", "time_utc", "2026-02-29T00:00:00Z", "1900-01-01T00:00:00Z",
    ];

    /// <summary>How many inputs a target takes.</summary>
    /// <param name="share">Its share of all, 0 to 1.</param>
    public static int Inputs(double share) => (int)(Setting("PAVEMENTWATCH_FUZZ", 100_000) * share);

    /// <summary>A round for each input of a target; a long run says how far it is.</summary>
    public static IEnumerable<int> Rounds(string target, double share)
    {
        var all = Inputs(share);
        var began = Stopwatch.GetTimestamp();
        for (var i = 0; i < all; i++)
        {
            if (i > 0 && all >= Long && i % (all / 20) == 0)
                TestContext.Current.TestOutputHelper?.WriteLine($"{target}: {i} of {all} after {Stopwatch.GetElapsedTime(began):hh\\:mm\\:ss}");
            yield return i;
        }
    }

    /// <summary>Reads one input; it throws nothing, and allocates on this thread no more than it may.</summary>
    /// <param name="target">Whose it is.</param>
    /// <param name="length">Its length.</param>
    /// <param name="read">Reads it.</param>
    /// <param name="show">The input, for whoever makes it a sample.</param>
    public static void Bounded(string target, int length, Action read, Func<string> show)
    {
        var before = GC.GetAllocatedBytesForCurrentThread();
        try
        {
            read();
        }
        catch (Exception error)
        {
            Assert.Fail($"{target}: an input of {length} made it throw {error}\nthe input, base64: {show()}");
        }

        var allocated = GC.GetAllocatedBytesForCurrentThread() - before;
        var bound = AllocatedAlways + (AllocatedPerCharacter * length);
        Assert.True(allocated <= bound, $"{target}: an input of {length} allocated {allocated} B, at most {bound} B were expected\nthe input, base64: {show()}");
    }

    /// <summary>Where the target's inputs begin; the same each time unless the seed is set.</summary>
    public static Random Source(string target) =>
        new(target.Aggregate((int)Setting("PAVEMENTWATCH_FUZZ_SEED", 20260714), (hash, letter) => unchecked((hash * 31) + letter)));

    /// <summary>Runs a target that reads text.</summary>
    /// <param name="target">Its name.</param>
    /// <param name="share">Its share of all inputs.</param>
    /// <param name="samples">What it reads well.</param>
    /// <param name="read">Reads one; throws nothing, whatever it is.</param>
    public static void Texts(string target, double share, IReadOnlyList<string> samples, Action<string> read)
    {
        var random = Source(target);
        foreach (var sample in samples)
            read(sample); // What is made once is made here.
        foreach (var _ in Rounds(target, share))
        {
            var input = Mutated(random, samples);
            Bounded(target, input.Length, () => read(input), () => Convert.ToBase64String(Encoding.UTF8.GetBytes(input)));
        }
    }

    /// <summary>Runs a target that reads bytes.</summary>
    public static void Bytes(string target, double share, IReadOnlyList<string> samples, Action<byte[]> read)
    {
        var random = Source(target);
        foreach (var sample in samples)
            read(Encoding.UTF8.GetBytes(sample));
        foreach (var _ in Rounds(target, share))
        {
            var input = Encoding.UTF8.GetBytes(Mutated(random, samples));
            for (var damaged = random.Next(4) == 0 ? random.Next(4) : 0; damaged > 0 && input.Length > 0; damaged--)
                input[random.Next(input.Length)] = (byte)random.Next(256);
            Bounded(target, input.Length, () => read(input), () => Convert.ToBase64String(input));
        }
    }

    /// <summary>A sample that was changed, or noise.</summary>
    public static string Mutated(Random random, IReadOnlyList<string> samples)
    {
        if (random.Next(20) == 0)
            return Noise(random, random.Next(300));
        var text = new StringBuilder(samples[random.Next(samples.Count)]);
        for (var changes = random.Next(1, 6); changes > 0; changes--)
        {
            var at = random.Next(text.Length + 1);
            var length = random.Next(Math.Min(text.Length - at, 40) + 1);
            switch (random.Next(9))
            {
                case 0 when at < text.Length:
                    text[at] = (char)(text[at] ^ (1 << random.Next(8)));
                    break;
                case 1:
                    text.Remove(at, length);
                    break;
                case 2:
                    text.Insert(at, Words[random.Next(Words.Length)]);
                    break;
                case 3:
                    text.Remove(at, length).Insert(at, Words[random.Next(Words.Length)]);
                    break;
                case 4:
                    text.Insert(at, text.ToString(at, length));
                    break;
                case 5:
                    text.Length = at;
                    break;
                case 6:
                    var other = samples[random.Next(samples.Count)];
                    text.Length = at;
                    text.Append(other.AsSpan(random.Next(other.Length + 1)));
                    break;
                case 7 when random.Next(10) == 0:
                    text.Insert(at, new string(text.Length > 0 ? text[Math.Min(at, text.Length - 1)] : 'x', random.Next(Longest)));
                    break;
                default:
                    Number(random, text, at);
                    break;
            }
        }

        return text.Length > Longest ? text.ToString(0, Longest) : text.ToString();
    }

    private static string Noise(Random random, int length) => string.Create(length, random, (span, source) =>
    {
        for (var i = 0; i < span.Length; i++)
            span[i] = (char)source.Next(source.Next(3) == 0 ? char.MaxValue : 128);
    });

    /// <summary>Puts another number where the next one stands.</summary>
    private static void Number(Random random, StringBuilder text, int from)
    {
        while (from < text.Length && !char.IsAsciiDigit(text[from]))
            from++;
        var to = from;
        while (to < text.Length && (char.IsAsciiDigit(text[to]) || text[to] == '.'))
            to++;
        var number = random.Next(4) switch
        {
            0 => random.NextInt64(long.MinValue, long.MaxValue).ToString(CultureInfo.InvariantCulture),
            1 => (random.NextDouble() * 200 - 100).ToString("R", CultureInfo.InvariantCulture),
            2 => BitConverter.Int64BitsToDouble(random.NextInt64(long.MinValue, long.MaxValue)).ToString("R", CultureInfo.InvariantCulture),
            _ => random.Next(-3, 100).ToString(CultureInfo.InvariantCulture),
        };
        text.Remove(from, to - from).Insert(from, number);
    }

    private static long Setting(string name, long usual) =>
        long.TryParse(Environment.GetEnvironmentVariable(name), NumberStyles.None, CultureInfo.InvariantCulture, out var set) ? set : usual;
}
