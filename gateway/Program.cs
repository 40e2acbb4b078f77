using PavementWatch.Gateway.Commands;
using PavementWatch.Gateway.Hosting;

FileCreationMask.OwnerOnly();
return await CommandLine.RunAsync(args);
