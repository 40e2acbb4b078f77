using System.Collections.Concurrent;
using PavementWatch.Server.Demo;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.Town;

/// <summary>The demo, running for the tests of <see cref="SharedTown"/>; started by the first that asks for it.</summary>
public sealed class RunningTown : IAsyncDisposable
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
                new DemoOptions(Speed: 600, Port: 0, KeepFolder: null), _said.Enqueue, TestContext.Current.CancellationToken);
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
    }
}

/// <summary>The tests that look at one running demo, one after the other; it ends with the last of them and leaves the processors to the others.</summary>
[CollectionDefinition(nameof(SharedTown))]
public sealed class SharedTown : ICollectionFixture<RunningTown>;
