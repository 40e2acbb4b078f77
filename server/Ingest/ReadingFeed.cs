using System.Collections.Immutable;
using System.Runtime.CompilerServices;
using System.Threading.Channels;

namespace PavementWatch.Server.Ingest;

/// <summary>Tells each of its readers every reading that came in and was not there yet, after the store has taken it, could not, or did not answer soon; those of one gateway in the order it sent them.</summary>
/// <remarks>
/// A reader that falls behind by more than the capacity loses its oldest readings, which the store still has or the gateway sends again;
/// the loss is counted. Publishing never waits.
/// </remarks>
internal sealed class ReadingFeed(int capacity = ReadingFeed.DefaultCapacity)
{
    /// <summary>Readings kept for a reader that is behind: a day of seven spots, a minute apart.</summary>
    public const int DefaultCapacity = 10_000;

    private ImmutableArray<Channel<HeardReading>> _readers = [];
    private long _overflowCount;

    /// <summary>Readings that some reader missed since the start, because it was too slow.</summary>
    public long OverflowCount => Interlocked.Read(ref _overflowCount);

    /// <summary>Hands the readings to every reader.</summary>
    public void Publish(IReadOnlyList<HeardReading> readings)
    {
        foreach (var reader in _readers)
        {
            foreach (var reading in readings)
                reader.Writer.TryWrite(reading);
        }
    }

    /// <summary>
    /// Everything published from this call on (not only from the first step of the enumeration, so that a caller
    /// can subscribe, then load what is stored, and miss nothing). The result must be enumerated once, or the token cancelled.
    /// </summary>
    public IAsyncEnumerable<HeardReading> ReadAllAsync(CancellationToken cancellationToken)
    {
        var channel = Channel.CreateBounded<HeardReading>(
            new BoundedChannelOptions(capacity) { FullMode = BoundedChannelFullMode.DropOldest, SingleReader = true },
            _ => Interlocked.Increment(ref _overflowCount));
        ImmutableInterlocked.Update(ref _readers, static (all, one) => all.Add(one), channel);
        var registration = cancellationToken.UnsafeRegister(_ => Forget(channel), null);
        return EnumerateAsync(channel, registration, cancellationToken);
    }

    private async IAsyncEnumerable<HeardReading> EnumerateAsync(
        Channel<HeardReading> channel,
        CancellationTokenRegistration registration,
        [EnumeratorCancellation] CancellationToken cancellationToken)
    {
        try
        {
            await foreach (var reading in channel.Reader.ReadAllAsync(cancellationToken))
                yield return reading;
        }
        finally
        {
            await registration.DisposeAsync();
            Forget(channel);
        }
    }

    private void Forget(Channel<HeardReading> channel) =>
        ImmutableInterlocked.Update(ref _readers, static (all, one) => all.Remove(one), channel);
}
