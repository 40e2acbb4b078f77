using BenchmarkDotNet.Configs;
using BenchmarkDotNet.Jobs;
using BenchmarkDotNet.Running;
using BenchmarkDotNet.Toolchains.InProcess.Emit;
using PavementWatch.Benchmarks;
using PavementWatch.Benchmarks.Offsets;

switch (args.FirstOrDefault())
{
    case "ingest":
        return await IngestLoad.RunAsync(args[1..]);
    case "recovery":
        return await Recovery.RunAsync(args[1..]);
    case "gateway":
        return await GatewayLoad.RunAsync(args[1..]);
    case "offset":
        // In this process: the repository's build rules are no matter for a generated project.
        BenchmarkRunner.Run<OffsetSpeed>(DefaultConfig.Instance.AddJob(
            Job.ShortRun.WithToolchain(InProcessEmitToolchain.Instance)).WithArtifactsPath(Path.Combine(Path.GetTempPath(), "offset-speed")));
        return 0;
    case "offset-night":
        return OffsetNight.Run();
    case "night":
        return await NightLoad.RunAsync(args[1..]);
    case "tick":
        return await TickLoad.RunAsync(args[1..]);
    case "day":
        return await DayLoad.RunAsync(args[1..]);
    case "analyst":
        return await AnalystLoad.RunAsync(args[1..]);
    case "start":
        return await StartTimes.RunAsync(args[1..]);
    default:
        await Console.Error.WriteLineAsync(
            """
            dotnet run -c Release --project tests/Benchmarks -- ingest [FOLDER] [SECONDS]
              how many readings a second go from MQTT clients through the embedded broker into the store, durably
            dotnet run -c Release --project tests/Benchmarks -- recovery [KILLS] [GATEWAYS]
              how long the server program takes to be back after kill -9 under load, and what takes the time
            dotnet run -c Release --project tests/Benchmarks -- gateway [SECONDS]
              processor and memory of the gateway program with ten spots, in real time
            dotnet run -c Release --project tests/Benchmarks -- offset
              time and allocations of a spot's nightly refit, of one estimate, of a tick and of a day drawn
            dotnet run -c Release --project tests/Benchmarks -- offset-night
              a thousand spots refitted on two processors
            dotnet run -c Release --project tests/Benchmarks -- night [SPOTS] [DAYS] [FOLDER]
              the same through the server's own parts, on minutes in SQLite: 1000 spots with 76 days take a quarter of an hour to make, and 10 GB
            dotnet run -c Release --project tests/Benchmarks -- tick [SPOTS] [SITES] [TICKS] [night]
              a look at every spot by the running watch, and how long a reading that comes meanwhile waits; with night, while fits are made
            dotnet run -c Release --project tests/Benchmarks -- day [SPOTS] [ROWS] [VISITS]
              a spot's day over HTTP: made anew, made anew because a reading came, and asked for again
            dotnet run -c Release --project tests/Benchmarks -- analyst [SPOTS] [FITS] [VISITS]
              the analyst's list over HTTP, and the page of a spot with a thousand checks
            dotnet run -c Release --project tests/Benchmarks -- start [TIMES] [PROGRAM]
              how long the program takes for spot add, until the server answers, and until the demo says its links; PROGRAM is a published one
            """);
        return 2;
}
