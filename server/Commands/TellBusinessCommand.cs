using System.CommandLine;
using PavementWatch.Server.Access;
using PavementWatch.Server.Hosting;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Commands;

/// <summary>Tries each way to the business that is set, so that nobody finds out on the hot day.</summary>
internal static class TellBusinessCommand
{
    public static void AddTo(RootCommand root)
    {
        var tell = new Command(
            "tell-business", "Send a trial notice by each way of Notifications:Business and say what came of it. The server may run meanwhile.");
        Settings.AddTo(tell);
        tell.SetAction(async (parsed, cancellationToken) =>
        {
            await using var app = ServerApp.Build(new ServerAppOptions { Args = Settings.Of(parsed) });
            var output = parsed.InvocationConfiguration.Output;
            var ways = app.Services.GetServices<IBusinessChannel>().Where(w => w.IsSet).ToList();
            if (ways.Count == 0)
            {
                await parsed.InvocationConfiguration.Error.WriteLineAsync(
                    "no way is set; expected Notifications:Business:MailHost with MailFrom and MailTo, or Notifications:Business:WebhookUrl");
                return CommandLine.Failed;
            }

            var address = app.Services.GetRequiredService<PublicAddress>().Text;
            var trial = new UnseenWarningNotice(
                0, "trial", "A trial", "This is a trial of the server's notices: no ground is meant.", TimeProvider.System.GetUtcNow(), 1, 1, 1, address);
            var failed = false;
            foreach (var way in ways)
            {
                var outcome = await way.SendAsync(Guid.NewGuid(), trial, cancellationToken);
                failed |= outcome is not SendOutcome.Taken;
                await output.WriteLineAsync($"{way.Name,-8} {Word(outcome)}");
            }

            return failed ? CommandLine.Failed : CommandLine.Done;
        });
        root.Subcommands.Add(tell);
    }

    private static string Word(SendOutcome outcome) => outcome switch
    {
        SendOutcome.Taken => "taken; look whether it has arrived",
        SendOutcome.TryLater later => $"not sent: {later.Detail}",
        SendOutcome.Refused refused => $"refused: {refused.Detail}",
        _ => outcome.ToString(),
    };
}
