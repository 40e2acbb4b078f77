using PavementWatch.Gateway.Commands;

return await CommandLine.RunAsync(args);
