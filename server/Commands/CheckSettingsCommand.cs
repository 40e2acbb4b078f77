using System.CommandLine;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Commands;

/// <summary>Reads and checks every setting without starting anything.</summary>
internal static class CheckSettingsCommand
{
    public static void AddTo(RootCommand root)
    {
        var check = new Command("check-settings", "Check the settings of files, environment and command line, and whether the data folder can be written. Starts nothing.");
        Settings.AddTo(check);
        check.SetAction(async (parsed, cancellationToken) =>
        {
            await using var app = ServerApp.Build(new ServerAppOptions { Args = Settings.Of(parsed) });
            app.Services.GetRequiredService<IStartupValidator>().Validate();
            var folder = app.Services.GetRequiredService<DataFolder>();
            var probe = folder.File($".check-{Environment.ProcessId}");
            await File.WriteAllTextAsync(probe, "", cancellationToken);
            File.Delete(probe);
            var output = parsed.InvocationConfiguration.Output;
            await output.WriteLineAsync("settings: in order");
            await output.WriteLineAsync($"  pages   {app.Configuration["Urls"]}");
            await output.WriteLineAsync($"  data    {folder.Path}");
            await output.WriteLineAsync($"  store   {app.Configuration["Store:Kind"] ?? "sqlite"}");
            await output.WriteLineAsync($"  broker  {app.Configuration["Broker:Kind"] ?? "embedded"}");
            return CommandLine.Done;
        });
        root.Subcommands.Add(check);
    }
}
