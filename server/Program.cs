using PavementWatch.Server.Commands;
using PavementWatch.Server.Database;

PrivateFiles.OnlyOwnFromNowOn();
return await CommandLine.RunAsync(args, Console.Out, Console.Error);
