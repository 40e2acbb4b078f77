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
}
