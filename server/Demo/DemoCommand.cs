using System.CommandLine;
using System.Globalization;
using PavementWatch.Core.Surfaces;
using PavementWatch.Gateway.Clock;
using PavementWatch.Server.Commands;

namespace PavementWatch.Server.Demo;

/// <summary>The verb <c>demo</c>.</summary>
internal static class DemoCommand
{
    public static void AddTo(RootCommand root)
    {
        var speed = new Option<double>("--speed")
        {
            Description = $"How much faster than life, 1 to {AcceleratedTimeProvider.MaxSpeed}.",
            HelpName = "TIMES",
            DefaultValueFactory = _ => 600,
        };
        speed.Validators.Add(result =>
        {
            if (result.GetValue(speed) is not (>= 1 and <= AcceleratedTimeProvider.MaxSpeed))
                result.AddError($"--speed must be 1 to {AcceleratedTimeProvider.MaxSpeed}, e.g. --speed 600");
        });
        var port = new Option<int>("--port")
        {
            Description = "Port of the pages; 0 takes a free one.",
            HelpName = "PORT",
            DefaultValueFactory = _ => 5080,
        };
        port.Validators.Add(result =>
        {
            if (result.GetValue(port) is not (>= 0 and <= 65_535))
                result.AddError("--port must be 0 to 65535, e.g. --port 5080");
        });
        var keep = new Option<string?>("--keep")
        {
            Description = "Empty or new folder in which the demo's data stay; otherwise a temporary one is used and removed.",
            HelpName = "DIR",
        };
        var days = string.Join(" or ", DemoDay.All.Select(d => d.Name));
        var day = new Option<DemoDay>("--day")
        {
            Description = $"Which day: {string.Join("; ", DemoDay.All.Select(d => $"{d.Name}, {d.Words}"))}.",
            HelpName = string.Join("|", DemoDay.All.Select(d => d.Name)),
            DefaultValueFactory = _ => DemoDay.Summer,
            CustomParser = result =>
            {
                if (DemoDay.All.FirstOrDefault(d => string.Equals(d.Name, Parsing.Text(result), StringComparison.OrdinalIgnoreCase)) is { } found)
                    return found;
                result.AddError($"--day is '{Parsing.Text(result)}', expected {days}");
                return null;
            },
        };
        var file = new Option<string?>("--write-file")
        {
            Description = $"Run nothing, but write the {DemoFile.Days} days before the day as a table for backtest: air, humidity, wind, sun and the surface of a spot.",
            HelpName = "FILE",
        };
        var spot = new Option<DemoSpot>("--spot")
        {
            Description = $"Whose surface --write-file writes: {string.Join(", ", DemoTown.Spots.Select(s => s.Spot.Id))}.",
            HelpName = "ID",
            DefaultValueFactory = _ => DemoTown.Spots[0],
            CustomParser = result =>
            {
                if (DemoTown.Spots.FirstOrDefault(s => s.Spot.Id.Value == Parsing.Text(result)) is { } found)
                    return found;
                result.AddError($"--spot is '{Parsing.Text(result)}', expected one of {string.Join(", ", DemoTown.Spots.Select(s => s.Spot.Id))}");
                return null;
            },
        };
        var demo = new Command("demo", "Run everything on this machine in an invented town on a hot or a frosty day. Ctrl-C ends it.")
        {
            day, speed, port, keep, file, spot,
        };
        demo.SetAction((parsed, cancellationToken) => parsed.GetValue(file) is { } path
            ? WriteAsync(parsed, path, parsed.GetRequiredValue(day), parsed.GetRequiredValue(spot))
            : RunAsync(new DemoOptions(parsed.GetValue(speed), parsed.GetValue(port), parsed.GetValue(keep)) { Day = parsed.GetRequiredValue(day) }, cancellationToken));
        root.Subcommands.Add(demo);
    }

    private static async Task<int> WriteAsync(ParseResult parsed, string path, DemoDay day, DemoSpot spot)
    {
        try
        {
            Directory.CreateDirectory(Path.GetDirectoryName(Path.GetFullPath(path))!);
            await using var writer = File.CreateText(path);
            var rows = DemoFile.Write(day, spot, writer);
            await parsed.InvocationConfiguration.Output.WriteLineAsync(
                string.Create(CultureInfo.InvariantCulture, $"{path}: {rows} rows of {spot.Spot.Name}, {SurfaceKinds.Slug(spot.Spot.Surface)}, invented; latitude {spot.Spot.LatitudeDegrees}, longitude {spot.Spot.LongitudeDegrees}, time zone {spot.Spot.TimeZoneId}"));
            return CommandLine.Done;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            await parsed.InvocationConfiguration.Error.WriteLineAsync($"demo: {e.Message}");
            return CommandLine.Failed;
        }
    }

    private static async Task<int> RunAsync(DemoOptions options, CancellationToken cancellationToken)
    {
        var say = new Lines(Console.Out);
        say.Line("PavementWatch demo: Ferngate, a town that does not exist, on "
            + $"{options.Day.Words} {options.Speed:0.##} times faster than life.");
        say.Line("Making two weeks of history and fitting each spot ...");
        try
        {
            await using var run = await DemoRun.StartAsync(options, say.Event, cancellationToken);
            say.Line("");
            say.Line("Links, each signs in once as the person named (open one in each private window):");
            foreach (var (who, link) in run.Links)
                say.Line($"  {who,-24} {link}");
            say.Line($"Another link: dotnet run --project server -- person link Ines --Data:Folder={run.Folder} --Access:PublicUrl={run.Address}");
            say.Line("");
            say.Line($"Worth a look: {string.Join($"{Environment.NewLine}  ", options.Day.Look)}");
            say.Line("");
            say.Line("Pushes to Ines's phone and what happens, with Ferngate's time. Ctrl-C ends the demo.");
            say.Begin();
            await Task.Delay(Timeout.InfiniteTimeSpan, TimeProvider.System, cancellationToken);
        }
        catch (OperationCanceledException)
        {
            say.Line("The demo is over; nothing is left running"
                + (options.KeepFolder is { } folder ? $". Its data are in {folder}" : ""));
        }
        catch (IOException error)
        {
            await Console.Error.WriteLineAsync($"demo: {error.Message.TrimEnd('.')}. Choose another port with --port or another folder with --keep.");
            return 1;
        }

        return 0;
    }

    /// <summary>Keeps what happens during the start until the links have been printed.</summary>
    private sealed class Lines(TextWriter output)
    {
        private readonly Lock _lock = new();
        private List<string>? _early = [];

        public void Line(string text)
        {
            lock (_lock)
                output.WriteLine(text);
        }

        public void Event(string text)
        {
            lock (_lock)
            {
                if (_early is not null)
                    _early.Add(text);
                else
                    output.WriteLine(text);
            }
        }

        public void Begin()
        {
            lock (_lock)
            {
                _early?.ForEach(output.WriteLine);
                _early = null;
            }
        }
    }
}
