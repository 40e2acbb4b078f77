using System.CommandLine;
using System.Text.RegularExpressions;

namespace PavementWatch.Server.Commands;

/// <summary>Settings on the command line, <c>--Section:Key=value</c> or <c>--Urls=http://…</c>, after any verb that starts the server's parts.</summary>
internal static partial class Settings
{
    /// <param name="command">The verb.</param>
    /// <param name="hidden">Not shown in help: the root's would stand in the help of every verb, also of those that take none.</param>
    public static void AddTo(Command command, bool hidden = false)
    {
        var settings = new Argument<string[]>("settings")
        {
            Description = "Any of --Section:Key=value, as in server/appsettings.json, e.g. --Data:Folder=/var/lib/pavementwatch.",
            Arity = ArgumentArity.ZeroOrMore,
            Hidden = hidden,
        };
        settings.Validators.Add(result =>
        {
            foreach (var token in result.Tokens)
            {
                if (!Form().IsMatch(token.Value))
                    result.AddError($"'{token.Value}' is neither a verb nor a setting; expected --Section:Key=value or --Urls=http://host:port");
            }
        });
        command.Arguments.Add(settings);
    }

    public static IReadOnlyList<string> Of(ParseResult parsed) => parsed.GetValue<string[]>("settings") ?? [];

    [GeneratedRegex("^--([A-Za-z][A-Za-z0-9]*(:[A-Za-z0-9.]+)+|[Uu]rls)=.*$")]
    private static partial Regex Form();
}
