using System.CommandLine;

namespace PavementWatch.Gateway.Tests.Sizing;

/// <summary>Runs a verb in this process, as a person would type it, and keeps what it printed.</summary>
internal sealed record CommandRun(int ExitCode, string Output, string Error)
{
    public static CommandRun Of(Command verb, params string[] arguments)
    {
        var root = new RootCommand();
        root.Subcommands.Add(verb);
        var (output, error) = (new StringWriter(), new StringWriter());
        var parsed = root.Parse(arguments);
        var code = parsed.Invoke(new InvocationConfiguration { Output = output, Error = error });
        return new(parsed.Errors.Count > 0 ? 2 : code, output.ToString(), error.ToString());
    }
}
