using PavementWatch.Gateway.Commands;

PrivateFiles.OnlyOwnFromNowOn();
return await CommandLine.RunAsync(args);
