using System.CommandLine;
using System.Data.Common;
using PavementWatch.Server.Database;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Commands;

/// <summary>Gives a verb the server's parts without starting it: no pages, no broker, no watch.</summary>
internal static class ServerParts
{
    public static async Task<int> UseAsync(
        ParseResult parsed, Func<IServiceProvider, CancellationToken, Task<int>> verb, CancellationToken cancellationToken)
    {
        await using var app = Build(parsed);
        await app.Services.GetRequiredService<RegistryStart>().StartingAsync(cancellationToken);
        try
        {
            return await verb(app.Services, cancellationToken);
        }
        catch (Exception failure) when (failure.GetBaseException() is DbException refused && DatabaseFaults.TakesNothing(refused))
        {
            throw new IOException($"registry {app.Services.GetRequiredService<DataFolder>().File("registry.sqlite")}: {DatabaseFaults.Words(refused)}", failure);
        }
    }

    /// <summary>The parts alone, with the registry as it is.</summary>
    public static WebApplication Build(ParseResult parsed) => ServerApp.Build(new ServerAppOptions
    {
        Args = Settings.Of(parsed),
        Settings = new Dictionary<string, string?>
        {
            // What a verb prints is its result; the rest belongs on stderr, and only if it matters.
            ["Logging:LogLevel:Default"] = "Warning",
            // What it is refused is thrown too, and said in a sentence.
            ["Logging:LogLevel:Microsoft.EntityFrameworkCore"] = "None",
            ["Logging:Console:LogToStandardErrorThreshold"] = "Trace",
        },
    });
}
