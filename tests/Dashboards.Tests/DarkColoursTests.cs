using System.Text.RegularExpressions;
using PavementWatch.Tests;

namespace PavementWatch.Dashboards.Tests;

/// <summary>By dark a page has other colours and nothing else: what holds of it by light need not be looked at again.</summary>
public sealed class DarkColoursTests
{
    [Fact]
    public void Style_sheets_change_nothing_by_dark_but_the_values_of_colours()
    {
        var folder = Path.Combine(SharedData.RepositoryRoot, "dashboards", "wwwroot", "css");
        var sheets = string.Concat(Directory.EnumerateFiles(folder, "*.css").Select(File.ReadAllText));
        var blocks = Regex.Matches(sheets, @"prefers-color-scheme[^{]*\{(?<rules>(?:[^{}]|\{[^{}]*\})*)\}");

        Assert.NotEmpty(blocks);
        Assert.Equal(Regex.Count(sheets, "prefers-color-scheme"), blocks.Count);
        Assert.All(blocks, block => Assert.Matches(@"^\s*:root\s*\{(?:\s*--[a-z-]+:\s*#[0-9a-f]{6};)+\s*\}\s*$", block.Groups["rules"].Value));
    }
}
