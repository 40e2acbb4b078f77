using System.CommandLine;
using System.Data.Common;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Demo;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Commands;

/// <summary>The verbs of the server. Exit codes: 0 done, 1 failed, 2 bad usage.</summary>
internal static class CommandLine
{
    public const int Done = 0;

    public const int Failed = 1;

    public const int BadUsage = 2;

    /// <summary>Parses and runs. What the world does wrong is a line on <paramref name="error"/>, not a stack of calls.</summary>
    public static async Task<int> RunAsync(string[] args, TextWriter output, TextWriter error)
    {
        var parsed = Root().Parse(args);
        var invocation = new InvocationConfiguration
        {
            // What is under way ends in its own time: the host waits 30 s for its parts.
            ProcessTerminationTimeout = TimeSpan.FromSeconds(35),
            Output = output,
            Error = error,
            EnableDefaultExceptionHandler = false,
        };
        try
        {
            var code = await parsed.InvokeAsync(invocation);
            return parsed.Errors.Count > 0 ? BadUsage : code;
        }
        catch (Exception e) when (Explain(e) is { } lines)
        {
            foreach (var line in lines)
                await error.WriteLineAsync(line);
            return Failed;
        }
    }

    private static RootCommand Root()
    {
        var root = new RootCommand(
            "PavementWatch server: broker, readings, fits, alerts and pages of a dog-walking business. Without a command it serves. "
            + "Settings may follow a command that shows <settings>: --Section:Key=value, as in server/appsettings.json. "
            + "COMMAND --help says more; every command ends with 0 (done), 1 (failed) or 2 (bad usage).");
        ServeCommand.AddTo(root);
        DemoCommand.AddTo(root);
        ReplayCommand.AddTo(root);
        RehearseCommand.AddTo(root);
        FitCommand.AddTo(root);
        BacktestCommand.AddTo(root);
        ReadingsCommands.AddTo(root);
        BackupCommand.AddTo(root);
        RestoreCommand.AddTo(root);
        CheckSettingsCommand.AddTo(root);
        TellBusinessCommand.AddTo(root);
        root.Subcommands.Add(SpotCommands.Create());
        root.Subcommands.Add(GatewayCommands.Create());
        PersonCommands.AddTo(root);
        return root;
    }

    /// <summary>What an operator can act on, or <c>null</c> when it is our own mistake.</summary>
    internal static IReadOnlyList<string>? Explain(Exception exception) => exception switch
    {
        SettingsException e => e.Faults,
        OptionsValidationException e => [.. e.Failures.Select(f => $"settings: {NamedOnce(f)}")],
        AggregateException e when e.InnerExceptions.All(i => Explain(i) is not null) => [.. e.InnerExceptions.SelectMany(i => Explain(i)!).Distinct()],
        InvalidOperationException e when e.Message.Contains("ErrorOnUnknownConfiguration", StringComparison.Ordinal) =>
            [$"settings: {UnknownKeys(e.Message)}"],
        InvalidOperationException e when e.Message.StartsWith("Failed to convert configuration value", StringComparison.Ordinal) =>
            [$"settings: {WrongValue(e.Message)}"],
        InvalidDataException e => [$"settings: {e.Message}"],
        FormatException e when e.InnerException is System.Text.Json.JsonException json => [$"settings: {e.Message} {json.Message}"],
        ReadingStoreException e => [e.Message],
        DbException e => [$"registry: {DatabaseFaults.Words(e)}"],
        IOException { InnerException: Microsoft.AspNetCore.Connections.AddressInUseException } e =>
            [$"pages: {e.Message} Choose another address with --Urls=http://localhost:5081, or stop what listens there."],
        InvalidOperationException { InnerException: System.Net.Sockets.SocketException } e => [e.Message],
        IOException e => [e.Message],
        UnauthorizedAccessException e => [$"{e.Message} Look at the rights of the file or folder."],
        OperationCanceledException => ["stopped"],
        _ => null,
    };

    // The validator puts a key before its sentence, also before one that begins with the whole key.
    private static string NamedOnce(string failure) =>
        failure.Split(": ", 2) is [var key, var rest] && rest.Split(' ')[0].EndsWith($":{key.Split('.')[^1]}", StringComparison.Ordinal) ? rest : failure;

    // "Failed to convert configuration value 'oracle' at 'Store:Kind' to type 'N.StoreKind'."
    private static string WrongValue(string message)
    {
        var (value, key, type) = message.Split('\'') is [_, var first, _, var second, _, var third, ..] ? (first, second, third) : ("", "", "");
        var expected = typeof(CommandLine).Assembly.GetType(type) is { IsEnum: true } kinds ? $"one of {string.Join(", ", Enum.GetNames(kinds))}"
            : type switch
            {
                "System.TimeSpan" => "a span such as 00:05:00",
                "System.Boolean" => "true or false",
                _ => "a number",
            };
        return $"{key} is '{value}', expected {expected}";
    }

    // "... the following properties were not found on the instance of N.StoreOptions: 'Kin'"
    private static string UnknownKeys(string message)
    {
        var keys = message[(message.LastIndexOf(": ", StringComparison.Ordinal) + 2)..];
        var type = message.Split(' ').FirstOrDefault(w => w.Contains("Options", StringComparison.Ordinal) && w.EndsWith(':')) ?? "";
        var section = type.TrimEnd(':').Split('.')[^1].Replace("Options", "", StringComparison.Ordinal);
        return $"{keys} is no key of section {section}; correct or remove it";
    }
}
