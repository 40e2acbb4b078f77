using PavementWatch.EndToEnd.Tests;
using PavementWatch.EndToEnd.Tests.House;
using PavementWatch.EndToEnd.Tests.Soak;
using PavementWatch.EndToEnd.Tests.Town;
using Xunit.Sdk;
using Xunit.v3;

[assembly: TestCollectionOrderer(typeof(LongestFirst))]
[assembly: TestClassOrderer(typeof(LongestFirst))]

namespace PavementWatch.EndToEnd.Tests;

/// <summary>Begins with what takes longest, so that it does not run alone at the end; in the town with those that wait for its morning.</summary>
public sealed class LongestFirst : ITestCollectionOrderer, ITestClassOrderer
{
    private static readonly string[] Collections = [nameof(SharedFastTown), nameof(SharedSlowTown), nameof(ReadmeTests), nameof(WinterTownTests), nameof(FastTowns)];

    /// <inheritdoc />
    public IReadOnlyCollection<TTestCollection> OrderTestCollections<TTestCollection>(IReadOnlyCollection<TTestCollection> testCollections)
        where TTestCollection : ITestCollection =>
        [.. testCollections.OrderByDescending(c => Array.Exists(Collections, name => c.TestCollectionDisplayName.Contains(name, StringComparison.Ordinal)))];

    /// <inheritdoc />
    public IReadOnlyCollection<TTestClass?> OrderTestClasses<TTestClass>(IReadOnlyCollection<TTestClass?> testClasses)
        where TTestClass : notnull, ITestClass =>
        [.. testClasses.OrderByDescending(c => c?.TestClassSimpleName == nameof(TownOnAPhoneTests))];
}
