using System.CommandLine;

namespace PavementWatch.Gateway.Tests.Sizing;

/// <summary>Runs a verb in this process, as a person would type it, and keeps what it printed.</summary>
internal sealed record CommandRun(int ExitCode, string Output, string Error)
{
    public static CommandRun Of(Command verb, params string[] arguments) =>
        OfAsync([verb], arguments).GetAwaiter().GetResult();

    public static Task<CommandRun> OfAsync(IEnumerable<Command> verbs, params string[] arguments)
    {
        var root = new RootCommand();
        foreach (var verb in verbs)
            root.Subcommands.Add(verb);
        return OfAsync(root, arguments);
    }

    public static async Task<CommandRun> OfAsync(RootCommand root, params string[] arguments)
    {
        var (output, error) = (new StringWriter(), new StringWriter());
        var parsed = root.Parse(arguments);
        var code = await parsed.InvokeAsync(new InvocationConfiguration { Output = output, Error = error });
        return new(parsed.Errors.Count > 0 ? 2 : code, output.ToString(), error.ToString());
    }
}
