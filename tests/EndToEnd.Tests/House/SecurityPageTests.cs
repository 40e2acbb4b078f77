using System.Text.RegularExpressions;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.House;

/// <summary>SECURITY.md promises nothing that no test shows.</summary>
public sealed partial class SecurityPageTests
{
    [Fact]
    public void Each_promise_names_tests_and_each_of_them_exists()
    {
        var page = File.ReadAllLines(Path.Combine(SharedData.RepositoryRoot, "SECURITY.md"));
        var promises = page.SkipWhile(line => line != "## What we promise").Where(line => line.StartsWith("| ", StringComparison.Ordinal))
            .Where(line => !line.StartsWith("| promise", StringComparison.Ordinal) && !line.StartsWith("| ---", StringComparison.Ordinal)).ToList();
        Assert.True(promises.Count > 20, $"{promises.Count} promises were found; is the page still made so?");
        var tests = Tests();
        Assert.All(promises, promise =>
        {
            var named = Named().Matches(promise).Select(match => match.Groups[1].Value).ToList();
            Assert.True(named.Count > 0, $"no test is named for: {promise}");
            Assert.All(named, test => Assert.Contains(test, tests));
        });
    }

    /// <summary>Every test there is, as <c>Class.Method</c>.</summary>
    private static HashSet<string> Tests() =>
    [
        .. Directory.EnumerateFiles(Path.Combine(SharedData.RepositoryRoot, "tests"), "*Tests.cs", SearchOption.AllDirectories)
            .Select(File.ReadAllText)
            .SelectMany(source => Method().Matches(source), (source, method) => $"{Class().Match(source).Groups[1].Value}.{method.Groups[1].Value}"),
    ];

    [GeneratedRegex("`([A-Za-z0-9_]+\\.[A-Za-z0-9_]+)`")]
    private static partial Regex Named();

    [GeneratedRegex(@"\[(?:Fact|Theory|InlineData|MemberData)[^\n]*\n(?:\s*(?:\[|//)[^\n]*\n|\s+[^\n]*\)\]\n)*\s*public (?:async )?(?:Task|void) (\w+)\(")]
    private static partial Regex Method();

    [GeneratedRegex(@"public sealed (?:partial )?class (\w+)")]
    private static partial Regex Class();
}
