using PavementWatch.Benchmarks;

switch (args.FirstOrDefault())
{
    case "ingest":
        return await IngestLoad.RunAsync(args[1..]);
    case "gateway":
        return await GatewayLoad.RunAsync(args[1..]);
    default:
        await Console.Error.WriteLineAsync(
            """
            dotnet run -c Release --project tests/Benchmarks -- ingest [FOLDER] [SECONDS]
              how many readings a second go from MQTT clients through the embedded broker into the store, durably
            dotnet run -c Release --project tests/Benchmarks -- gateway [SECONDS]
              processor and memory of the gateway program with ten spots, in real time
            """);
        return 2;
}
