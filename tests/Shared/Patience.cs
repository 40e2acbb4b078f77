using System.Threading.Channels;

namespace PavementWatch.Tests;

/// <summary>How long a test waits for a state before it fails.</summary>
/// <remarks>A wait ends when the state is there, so patience costs nothing where all is well; short waits fail on busy machines.</remarks>
internal static class Patience
{
    /// <summary>Two minutes.</summary>
    public static readonly TimeSpan Span = TimeSpan.FromMinutes(2);

    /// <summary>For what happens in the course of a demo's day: on a busy machine its hours take longer.</summary>
    public static readonly TimeSpan Story = TimeSpan.FromMinutes(10);

    /// <summary>A token that ends with the test, or after <paramref name="span"/>, <see cref="Span"/> unless given; the caller disposes it.</summary>
    public static CancellationTokenSource Token(TimeSpan? span = null)
    {
        var source = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        source.CancelAfter(span ?? Span);
        return source;
    }

    /// <summary>The next one of a channel, once there is one.</summary>
    public static async Task<T> NextAsync<T>(this Channel<T> channel)
    {
        using var patience = Token();
        return await channel.Reader.ReadAsync(patience.Token);
    }

    /// <summary>Waits until something is so; looks often at first, then every 20 ms.</summary>
    /// <param name="reached">What is waited for.</param>
    /// <param name="otherwise">What is said of it when it has not come in <see cref="Span"/>.</param>
    /// <param name="between">Done between two looks, as moving a clock.</param>
    public static Task UntilAsync(Func<bool> reached, Func<string> otherwise, Action? between = null) =>
        UntilAsync(() => Task.FromResult(reached()), otherwise, between);

    /// <inheritdoc cref="UntilAsync(Func{bool}, Func{string}, Action)" />
    public static async Task UntilAsync(Func<Task<bool>> reached, Func<string> otherwise, Action? between = null)
    {
        var began = TimeProvider.System.GetTimestamp();
        for (var pause = 1; !await reached(); pause = Math.Min(2 * pause, 20))
        {
            Assert.True(TimeProvider.System.GetElapsedTime(began) < Span, otherwise());
            between?.Invoke();
            await Task.Delay(TimeSpan.FromMilliseconds(pause), TimeProvider.System, TestContext.Current.CancellationToken);
        }
    }
}
