using System.Collections.Concurrent;
using PavementWatch.Server.Demo;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>The demo, running for the tests of a collection; started by the first that asks for it.</summary>
/// <param name="speed">Its seconds in one of ours.</param>
public abstract class RunningTown(double speed) : IAsyncDisposable
{
    private readonly SemaphoreSlim _one = new(1, 1);
    private readonly ConcurrentQueue<string> _said = new();
    private DemoRun? _run;

    internal async Task<DemoRun> StartedAsync()
    {
        await _one.WaitAsync(TestContext.Current.CancellationToken);
        try
        {
            return _run ??= await DemoRun.StartAsync(
                new DemoOptions(speed, Port: 0, KeepFolder: null), _said.Enqueue, TestContext.Current.CancellationToken);
        }
        finally
        {
            _one.Release();
        }
    }

    /// <summary>Waits for a line of the demo that holds all the words.</summary>
    internal Task<string> SaysAsync(params string[] words) => SaysAsync(_said, words);

    /// <summary>The same of another demo, whose lines are kept here.</summary>
    internal static async Task<string> SaysAsync(ConcurrentQueue<string> said, params string[] words)
    {
        using var patience = Patience.Token(Patience.Story);
        while (true)
        {
            if (said.FirstOrDefault(line => words.All(word => line.Contains(word, StringComparison.Ordinal))) is { } found)
                return found;
            Assert.False(patience.IsCancellationRequested, $"never said '{string.Join("' and '", words)}', only:\n{string.Join('\n', said)}");
            await Task.Delay(100, CancellationToken.None);
        }
    }

    /// <summary>A link of their own for each who asks: those that sign in do so once.</summary>
    internal Task<string> LinkOfAsync(string who) => _run!.NewLinkAsync(_run.Links.Single(link => link.Who.StartsWith(who, StringComparison.Ordinal)).Who, TestContext.Current.CancellationToken);

    public async ValueTask DisposeAsync()
    {
        if (_run is not null)
            await _run.DisposeAsync();
        _one.Dispose();
        GC.SuppressFinalize(this);
    }
}

/// <summary>A town whose morning passes within a minute.</summary>
public sealed class FastTown() : RunningTown(600);

/// <summary>A town whose clock hardly gets on while its pages are looked at: all that a fast one measures and decides takes a processor.</summary>
public sealed class SlowTown() : RunningTown(5);

/// <summary>The tests that wait for what happens in one running demo, one after the other; it ends with the last of them and leaves the processors to the others.</summary>
[CollectionDefinition(nameof(SharedFastTown))]
public sealed class SharedFastTown : ICollectionFixture<FastTown>;

/// <summary>The tests that look at the pages of one running demo.</summary>
[CollectionDefinition(nameof(SharedSlowTown))]
public sealed class SharedSlowTown : ICollectionFixture<SlowTown>;
