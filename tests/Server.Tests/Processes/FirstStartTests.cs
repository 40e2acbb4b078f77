using System.Net;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using PavementWatch.Server.Tests.Api;

namespace PavementWatch.Server.Tests.Processes;

/// <summary>What the program prints and makes when it is started for the first time.</summary>
[System.Runtime.Versioning.UnsupportedOSPlatform("windows")]
public sealed partial class FirstStartTests : IDisposable
{
    private const UnixFileMode Others = (UnixFileMode)0b111_111;

    private readonly string _folder = Directory.CreateTempSubdirectory("pw-first-").FullName;

    public void Dispose()
    {
        SqliteConnection.ClearAllPools();
        Directory.Delete(_folder, recursive: true);
    }

    [Fact]
    public async Task The_first_start_prints_one_set_up_link_and_one_after_it_was_used_prints_none()
    {
        await using (var first = await ServerProcess.ServeReadyAsync(_folder))
        {
            await first.SaidAsync("/set-up/");
            await BegunAsync(first);
            var link = Assert.Single(Link().Matches(first.Said));
            using var browser = new HttpClient(new HttpClientHandler { AllowAutoRedirect = false }) { BaseAddress = first.Address };
            using var entered = await browser.EnterAsync(link.Value, ("name", "Ferngate Walks"));
            Assert.Equal(HttpStatusCode.Redirect, entered.StatusCode);
            await first.KillAsync();
        }

        await using var second = await ServerProcess.ServeReadyAsync(_folder);
        await BegunAsync(second);
        Assert.Empty(Link().Matches(second.Said));
    }

    [Fact]
    public async Task A_demos_folder_that_is_kept_is_its_users_alone_also_where_it_was_open()
    {
        Assert.SkipWhen(OperatingSystem.IsWindows(), "Windows has no modes of files");
        var kept = Directory.CreateDirectory(Path.Combine(_folder, "kept")).FullName;
        File.SetUnixFileMode(kept, (UnixFileMode)0b111_101_101);

        await using (var demo = ServerProcess.Start("demo", "--port", "0", "--keep", kept))
        {
            await demo.SaidAsync("Links, each signs in once");
            await demo.KillAsync();
        }

        Assert.True(File.Exists(Path.Combine(kept, "registry.sqlite")));
        Assert.All(
            Directory.GetFileSystemEntries(kept, "*", SearchOption.AllDirectories).Append(kept),
            entry => Assert.True((File.GetUnixFileMode(entry) & Others) == 0, $"{entry} is open to others"));
    }

    /// <summary>The last that a start says comes after the link, if there is one; and it answers.</summary>
    private static async Task BegunAsync(ServerProcess server)
    {
        await server.SaidAsync("start: ports bound");
        await server.SaidAsync("start: watch began");
        using var browser = new HttpClient { BaseAddress = server.Address };
        for (var i = 0; i < 3; i++)
            await browser.GetStringAsync(new Uri("/health/live", UriKind.Relative), TestContext.Current.CancellationToken);
    }

    [GeneratedRegex("/set-up/[A-Za-z0-9_-]+")]
    private static partial Regex Link();
}
