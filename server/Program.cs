using PavementWatch.Server.Commands;

return await CommandLine.RunAsync(args, Console.Out, Console.Error);
