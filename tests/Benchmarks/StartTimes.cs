using System.Diagnostics;
using System.Globalization;
using System.Net.Sockets;
using System.Text.RegularExpressions;

namespace PavementWatch.Benchmarks;

/// <summary>The server's program from its begin: until <c>spot add</c> has ended, until a started server answers that it is ready, and until the demo has said its links.</summary>
internal static partial class StartTimes
{
    private static readonly TimeSpan LongestDemo = TimeSpan.FromMinutes(5);

    public static async Task<int> RunAsync(string[] args)
    {
        var times = int.Parse(args.ElementAtOrDefault(0) ?? "7", CultureInfo.InvariantCulture);
        // The server's own output: the copy beside this program would run on this program's packages.
        var program = Path.GetFullPath(args.ElementAtOrDefault(1) ?? AppContext.BaseDirectory.Replace(
            Path.Combine("tests", "Benchmarks"), "server", StringComparison.Ordinal) + "PavementWatch.Server.dll");
        var folder = Directory.CreateTempSubdirectory("pavementwatch-start-").FullName;
        try
        {
            var first = await AddAsync(program, folder, 0);
            var (added, ready, helped, linked) = (new List<double>(), new List<double>(), new List<double>(), new List<double>());
            for (var time = 1; time <= times; time++)
            {
                added.Add(await AddAsync(program, folder, time));
                ready.Add(await ReadyAsync(program, folder));
                helped.Add(await EndAsync(program, ["--help"]));
                linked.Add(await LinksAsync(program));
            }

            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"start: spot_add_ms={Middle(added):F0} spot_add_with_new_registry_ms={first:F0} "
                + $"ready_ms={Middle(ready):F0} help_ms={Middle(helped):F0} demo_links_ms={Middle(linked):F0} times={times} processors={Environment.ProcessorCount}"));
            return 0;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static Task<double> AddAsync(string program, string folder, int time) => EndAsync(
        program,
        ["spot", "add", $"spot-{time}", "--name", $"Spot {time}", "--surface", "asphalt", "--latitude", "37.4", "--longitude", "-97",
            "--time-zone", "America/Chicago", $"--Data:Folder={folder}"]);

    private static async Task<double> EndAsync(string program, string[] args)
    {
        var began = Stopwatch.GetTimestamp();
        using var process = Begin(program, args);
        var said = process.StandardOutput.ReadToEndAsync();
        await process.WaitForExitAsync();
        var milliseconds = Stopwatch.GetElapsedTime(began).TotalMilliseconds;
        return process.ExitCode == 0
            ? milliseconds
            : throw new InvalidOperationException($"{args[0]} ended with {process.ExitCode}: {await said}");
    }

    private static async Task<double> ReadyAsync(string program, string folder)
    {
        var pages = FreePort();
        var began = Stopwatch.GetTimestamp();
        using var server = Begin(program, ["serve", $"--Data:Folder={folder}", $"--Urls=http://127.0.0.1:{pages}", $"--Broker:Port={FreePort()}"]);
        _ = server.StandardOutput.ReadToEndAsync();
        using var browser = new HttpClient { BaseAddress = new Uri($"http://127.0.0.1:{pages}") };
        try
        {
            while (true)
            {
                if (server.HasExited)
                    throw new InvalidOperationException($"the server ended with {server.ExitCode}");
                try
                {
                    using var answer = await browser.GetAsync(new Uri("/health/ready", UriKind.Relative));
                    if (answer.IsSuccessStatusCode)
                        return Stopwatch.GetElapsedTime(began).TotalMilliseconds;
                }
                catch (HttpRequestException)
                {
                    // Not yet.
                }

                await Task.Delay(20);
            }
        }
        finally
        {
            server.Kill();
            await server.WaitForExitAsync();
        }
    }

    /// <summary>Until the demo has said the last of its links.</summary>
    private static async Task<double> LinksAsync(string program)
    {
        var began = Stopwatch.GetTimestamp();
        // In a new folder of its own: killed, it could not remove it.
        var folder = Directory.CreateTempSubdirectory("pavementwatch-links-").FullName;
        using var demo = Begin(program, ["demo", "--port", "0", "--keep", folder]);
        using var patience = new CancellationTokenSource(LongestDemo);
        try
        {
            var (at, said) = (0.0, "");
            while (await demo.StandardOutput.ReadLineAsync(patience.Token) is { } line)
            {
                said += line + Environment.NewLine;
                if (Link().IsMatch(line))
                    at = Stopwatch.GetElapsedTime(began).TotalMilliseconds;
                else if (at > 0)
                    return at;
            }

            throw new InvalidOperationException($"the demo ended without its links: {said}");
        }
        finally
        {
            demo.Kill();
            await demo.WaitForExitAsync();
            Directory.Delete(folder, recursive: true);
        }
    }

    // Two spaces, who, and where.
    [GeneratedRegex("^  .* https?://.*/(enter|o)/")]
    private static partial Regex Link();

    private static Process Begin(string program, string[] args) => Process.Start(
        program.EndsWith(".dll", StringComparison.Ordinal)
            ? new ProcessStartInfo("dotnet", [program, .. args]) { RedirectStandardOutput = true }
            : new ProcessStartInfo(program, args) { RedirectStandardOutput = true })!;

    private static double Middle(List<double> values) => values.Order().ElementAt(values.Count / 2);

    private static int FreePort()
    {
        using var listener = new TcpListener(System.Net.IPAddress.Loopback, 0);
        listener.Start();
        return ((System.Net.IPEndPoint)listener.LocalEndpoint).Port;
    }
}
