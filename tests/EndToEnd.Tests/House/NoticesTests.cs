using System.Text.Json;
using System.Text.RegularExpressions;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.House;

/// <summary>Every package that the built programs ask for is named with its licence in THIRD-PARTY-NOTICES.md.</summary>
public sealed partial class NoticesTests
{
    private static readonly string[] Licences = ["MIT", "MIT-0", "Apache-2.0"];

    [Theory]
    [InlineData("server", "PavementWatch.Server.deps.json")]
    [InlineData("gateway", "PavementWatch.Gateway.deps.json")]
    public void Each_package_of_a_built_program_has_its_notice(string project, string file)
    {
        var notices = Notices();
        using var built = JsonDocument.Parse(File.ReadAllText(Built(project, file)));
        string[] packages =
        [
            .. built.RootElement.GetProperty("libraries").EnumerateObject()
                .Where(library => library.Value.GetProperty("type").GetString() == "package").Select(library => library.Name.Split('/')[0]),
        ];
        Assert.True(packages.Length > 20, $"{file} names {packages.Length} packages; is it still made so?");
        Assert.All(packages, package => Assert.Contains(notices, notice => Covers(notice.Package, package)));
    }

    [Fact]
    public void Each_notice_names_a_licence_whose_text_is_there_and_a_package_that_is_used()
    {
        var used = new[] { ("server", "PavementWatch.Server.deps.json"), ("gateway", "PavementWatch.Gateway.deps.json") }
            .SelectMany(built => PackageName().Matches(File.ReadAllText(Built(built.Item1, built.Item2))).Select(match => match.Groups[1].Value)).ToHashSet();
        var text = File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "THIRD-PARTY-NOTICES.md"));
        Assert.All(Notices(), notice =>
        {
            Assert.Contains(notice.Licence.Split(' ')[0], Licences);
            Assert.Contains("©", notice.Copyright, StringComparison.Ordinal);
            Assert.True(used.Any(package => Covers(notice.Package, package)), $"{notice.Package} is not used any more; take its notice away");
        });
        foreach (Match file in LinkedFile().Matches(text))
            Assert.True(File.Exists(Path.Combine(SharedData.RepositoryRoot, file.Groups[1].Value)), file.Value);
    }

    private static List<(string Package, string Licence, string Copyright)> Notices() =>
    [
        .. File.ReadLines(Path.Combine(SharedData.RepositoryRoot, "THIRD-PARTY-NOTICES.md"))
            .Where(line => line.StartsWith("| ", StringComparison.Ordinal) && !line.StartsWith("| package", StringComparison.Ordinal) && !line.StartsWith("| ---", StringComparison.Ordinal))
            .Select(line => line.Trim('|').Split('|', StringSplitOptions.TrimEntries))
            .SelectMany(cells => InBrackets().Replace(cells[0], "").Replace("\\", "", StringComparison.Ordinal).Split(',', StringSplitOptions.TrimEntries), (cells, package) => (package, cells[1], cells[2])),
    ];

    private static bool Covers(string notice, string package) =>
        notice.EndsWith(".*", StringComparison.Ordinal) ? package.StartsWith(notice[..^1], StringComparison.Ordinal) : notice == package;

    private static string Built(string project, string file)
    {
        var tests = new DirectoryInfo(AppContext.BaseDirectory);
        return Path.Combine(SharedData.RepositoryRoot, project, "bin", tests.Parent!.Name, tests.Name, file);
    }

    [GeneratedRegex("\"([A-Za-z][A-Za-z0-9._-]*)/[0-9][^\"/]*\": \\{")]
    private static partial Regex PackageName();

    [GeneratedRegex(@"\]\(([^)#:]+)\)")]
    private static partial Regex LinkedFile();

    [GeneratedRegex(@"\s*\([^)]*\)")]
    private static partial Regex InBrackets();
}
