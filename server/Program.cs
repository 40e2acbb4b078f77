using PavementWatch.Server.Commands;
using PavementWatch.Server.Registry;

PrivateFiles.OnlyOwnFromNowOn();
return await CommandLine.RunAsync(args, Console.Out, Console.Error);
