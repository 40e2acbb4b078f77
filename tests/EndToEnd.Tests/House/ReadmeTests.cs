using System.Diagnostics;
using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using PavementWatch.Tests;

namespace PavementWatch.EndToEnd.Tests.House;

/// <summary>Every command a reader is shown is run as shown, in the order shown, and must print what is said of it.</summary>
public sealed class ReadmeTests
{
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(4);

    // What each command must print; a command that runs until Ctrl-C gets one when it has printed it. In order: the first
    // row that a command begins with counts.
    private static readonly (string Begins, string Prints, bool UntilCtrlC)[] Readme =
    [
        ("dotnet run --project server -- demo --write-file", "artifacts/ferngate.csv: 2160 rows of North Gate plaza, asphalt, invented", false),
        ("dotnet run --project server -- demo --day winter", "push to Ines: .*(freezing|icy)", true),
        ("dotnet run --project server -- demo", "push to Ines: North Gate plaza too hot", true),
        ("dotnet run --project server -- check-settings", "settings: in order", false),
        ("dotnet run --project server -- spot add", "north-gate-plaza: North Gate plaza, asphalt", false),
        ("dotnet run --project server -- gateway code", "sudo gateway enrol ", false),
        ("dotnet run --project server -- person add", "/enter/", false),
        ("dotnet run --project server -- person link", "/enter/", false),
        ("dotnet run --project server -- person show", "Ines, walker", false),
        ("dotnet run --project server -- import weather", "the whole business, observed: [0-9]+ times read", false),
        ("dotnet run --project server -- import checks", "2 checks read, 2 new", false),
        ("dotnet run --project server -- export checks", "north-gate-plaza,2025-07-13T19:20:00Z,44.1,Handy 2", false),
        ("dotnet run --project server -- replay", "equal, record by record", false),
        ("dotnet run --project server -- backtest handbook", "summer days .* [0-9]+ +-?[0-9]\\.[0-9]", false),
        ("dotnet run --project server -- backtest", "RMSE of the model is 0\\.[0-9]+ of the table's", false),
        ("dotnet run --project server", "Application started", true),
        ("dotnet run --project gateway -- check", "all is well", false),
        ("dotnet run --project gateway -- read", "surface [0-9.]+ °C", false),
    ];

    private static readonly (string Begins, string Prints, bool UntilCtrlC)[] Developers =
    [
        ("dotnet run --project tests/Core.Tests", "Total: [1-9]", false),
    ];

    [Fact]
    public async Task Commands_of_the_readme_do_what_it_says() => await RunAllAsync("README.md", Readme);

    [Fact]
    public async Task Commands_for_contributors_run() => await RunAllAsync("DEVELOPERS.md", Developers);

    [Fact]
    public void A_clone_with_nothing_beside_it_has_each_kind_of_command_to_run_but_the_replay_of_measurements()
    {
        static IEnumerable<string> Kinds(IEnumerable<string> commands) =>
            Readme.Select(row => row.Begins).Where(begins => commands.Any(c => c.StartsWith(begins, StringComparison.Ordinal)));

        var all = Commands("README.md").ToList();
        var alone = Kinds(all.Where(c => !c.Contains("../", StringComparison.Ordinal)));
        Assert.Equal(["dotnet run --project server -- replay", "dotnet run --project server -- backtest handbook"], Kinds(all).Except(alone));
        // Where a file is asked for that does not come with the clone, the text before says what it is.
        var text = File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "README.md"));
        var first = text.IndexOf("../shared/data/", StringComparison.Ordinal);
        Assert.Contains("time_utc,air_celsius,surface_celsius,humidity_percent,wind_mps,solar_wm2", text[..first], StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("README.md")]
    [InlineData("DEVELOPERS.md")]
    [InlineData("tests/Data/README.md")]
    public void Links_and_pictures_lead_somewhere(string document)
    {
        var text = File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, document));
        foreach (Match link in Regex.Matches(text, @"\]\((?!https?:)(?<target>[^)#]+)\)|src=""(?<target>[^""]+)"""))
        {
            var target = link.Groups["target"].Value;
            var path = Path.Combine(SharedData.RepositoryRoot, target);
            Assert.True(File.Exists(path) || Directory.Exists(path), $"{document} leads to {target}, which is not there");
        }
    }

    [Fact]
    public void The_table_for_contributors_names_each_folder_and_no_other()
    {
        var named = new List<string>();
        foreach (var line in File.ReadLines(Path.Combine(SharedData.RepositoryRoot, "DEVELOPERS.md")))
        {
            // The first name of a row says whose folders it lists.
            var row = Regex.Match(line, "^\\| `(?<project>core|gateway|dashboards|server)/(?<first>[A-Z]\\w*)`(, `(?<more>\\w+)`)* \\|");
            if (row.Success)
                named.AddRange(row.Groups["more"].Captures.Select(c => c.Value).Prepend(row.Groups["first"].Value).Select(name => $"{row.Groups["project"].Value}/{name}"));
        }

        // Folders of the field begin with a capital; what a build leaves, and what a browser loads, does not.
        var there = new[] { "core", "gateway", "dashboards", "server" }.SelectMany(project => new DirectoryInfo(Path.Combine(SharedData.RepositoryRoot, project))
            .GetDirectories().Where(d => char.IsUpper(d.Name[0]) && d.EnumerateFiles("*.*", SearchOption.AllDirectories).Any()).Select(d => $"{project}/{d.Name}"));
        Assert.Equal(there.Order(StringComparer.Ordinal), named.Order(StringComparer.Ordinal));
    }

    [Fact]
    public void Each_file_of_others_that_a_command_reads_has_its_owner_named()
    {
        var owners = File.ReadLines(Path.Combine(SharedData.RepositoryRoot, "tests", "Data", "README.md")).ToList();
        Assert.All(
            Regex.Matches(File.ReadAllText(Path.Combine(SharedData.RepositoryRoot, "README.md")), "\\.\\./shared/data/(?<name>[\\w.-]+)").Select(m => m.Groups["name"].Value),
            name => Assert.Contains(owners, line => line.StartsWith($"| `{name}` | ", StringComparison.Ordinal)));
    }

    private static async Task RunAllAsync(string document, (string Begins, string Prints, bool UntilCtrlC)[] expected)
    {
        var folder = Directory.CreateTempSubdirectory("pavementwatch-readme-").FullName;
        var projects = new HashSet<string>();
        try
        {
            foreach (var command in Commands(document))
            {
                // These build, install or run the very tests that run here.
                if (command.StartsWith("bash tests/run", StringComparison.Ordinal) || Regex.IsMatch(command, "^dotnet (build|test|format)|Benchmarks"))
                    continue;
                if (command.Contains("../shared/", StringComparison.Ordinal)
                    && !Directory.Exists(Path.Combine(SharedData.RepositoryRoot, "..", "shared", "data")))
                    continue;
                var row = expected.FirstOrDefault(row => command.StartsWith(row.Begins, StringComparison.Ordinal));
                Assert.True(row.Begins is not null, $"{document} shows '{command}', which no test runs; say here what it prints");
                var (status, printed) = await RunAsync(Built(command, projects), row.Prints, row.UntilCtrlC, folder);
                Assert.True(Regex.IsMatch(printed, row.Prints), $"'{command}' did not print '{row.Prints}', but:\n{printed}");
                Assert.True(status == 0, $"'{command}' ended with {status}:\n{printed}");
            }
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>As shown, but built already: a second build at the same time would fight over the files.</summary>
    /// <remarks>After the first command of a project its program is started as <c>dotnet run</c> starts it, which takes two seconds to find it.</remarks>
    private static string Built(string command, HashSet<string> projects)
    {
        var project = Regex.Match(command, "^dotnet run --project (?<folder>server|gateway)( -- (?<arguments>.*))?$");
        return project.Success && !projects.Add(project.Groups["folder"].Value)
            ? $"dotnet {Program(project.Groups["folder"].Value)} {project.Groups["arguments"].Value}"
            : command.Replace("dotnet run ", "dotnet run --no-build ", StringComparison.Ordinal);
    }

    private static string Program(string folder)
    {
        var tests = new DirectoryInfo(AppContext.BaseDirectory);
        return Path.Combine(folder, "bin", tests.Parent!.Name, tests.Name, $"PavementWatch.{(folder == "server" ? "Server" : "Gateway")}.dll");
    }

    private static IEnumerable<string> Commands(string document)
    {
        var inBlock = false;
        foreach (var line in File.ReadLines(Path.Combine(SharedData.RepositoryRoot, document)))
        {
            if (line.StartsWith("```", StringComparison.Ordinal))
                inBlock = line == "```bash";
            else if (inBlock && line.Length > 0)
                yield return line.Split("  #")[0].Trim();
        }
    }

    private static async Task<(int Status, string Printed)> RunAsync(
        string command, string prints, bool untilCtrlC, string folder)
    {
        var start = new ProcessStartInfo("setsid", ["bash", "-c", command])
        {
            WorkingDirectory = SharedData.RepositoryRoot,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        start.Environment["Data__Folder"] = folder;
        // Port 1883 may belong to a broker of this machine.
        start.Environment["Broker__Port"] = "0";
        var printed = new StringBuilder();
        var seen = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        using var process = new Process { StartInfo = start };
        void Take(string? line)
        {
            lock (printed)
            {
                printed.AppendLine(line);
                if (line is not null && Regex.IsMatch(line, prints))
                    seen.TrySetResult();
            }
        }

        process.OutputDataReceived += (_, e) => Take(e.Data);
        process.ErrorDataReceived += (_, e) => Take(e.Data);
        process.Start();
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        patience.CancelAfter(Patience);
        try
        {
            if (untilCtrlC)
            {
                await Task.WhenAny(seen.Task, process.WaitForExitAsync(patience.Token));
                await SignalAsync("INT", process.Id);
            }

            await process.WaitForExitAsync(patience.Token);
        }
        catch (OperationCanceledException)
        {
            await SignalAsync("KILL", process.Id);
            await process.WaitForExitAsync(CancellationToken.None);
        }

        lock (printed)
            return (process.ExitCode, printed.ToString());
    }

    /// <summary>To the whole group, as a terminal does at Ctrl-C.</summary>
    private static async Task SignalAsync(string signal, int group)
    {
        using var kill = Process.Start("kill", ["-" + signal, "--", string.Create(CultureInfo.InvariantCulture, $"-{group}")]);
        await kill.WaitForExitAsync(CancellationToken.None);
    }
}
