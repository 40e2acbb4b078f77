using PavementWatch.Gateway.Commands;
using PavementWatch.Gateway.Hosting;

PrivateFiles.OnlyOwnFromNowOn();
return await CommandLine.RunAsync(args);
