using System.CommandLine;
using PavementWatch.Gateway.Enrolment;

namespace PavementWatch.Gateway.Commands;

/// <summary><c>enrol</c>: fetches credentials with a single-use code.</summary>
internal static class EnrolCommand
{
    /// <param name="settings">What every verb takes.</param>
    /// <param name="places">Where a note is looked for.</param>
    public static Command Create(SettingsArguments settings, IReadOnlyList<string> places)
    {
        var code = new Argument<string?>("code") { Description = "the code on the business page; read from the boot partition when left out", Arity = ArgumentArity.ZeroOrOne };
        var server = new Option<string?>("--server") { Description = "address of the server's pages, e.g. https://walks.example", HelpName = "url" };
        var fingerprint = new Option<string?>("--fingerprint") { Description = "SHA-256 of the server's certificate as the business page shows it, when no public authority signed it", HelpName = "hex" };
        var unencrypted = new Option<bool>("--allow-unencrypted") { Description = "ask over http another machine; whoever listens gets the password" };
        var wait = new Option<bool>("--wait") { Description = "try the note on the boot partition until its code is used, and say on the lamp what is waited for" };
        var command = new Command("enrol", "Fetch this gateway's name, password and spots with a single-use code.") { code, server, fingerprint, unencrypted, wait };
        command.Validators.Add(result =>
        {
            if (result.GetValue(wait) && result.GetValue(code) is not null)
                result.AddError("--wait goes with the note on the boot partition; a code that is typed is tried at once");
        });
        command.SetAction(async (parsed, cancellationToken) =>
        {
            if (parsed.GetValue(wait))
                return await NoteEnrolmentCommands.RedeemAsync(settings, parsed, places, cancellationToken);
            var place = parsed.GetValue(code) is null ? places.FirstOrDefault(File.Exists) : null;
            var (note, fault) = parsed.GetValue(code) is { } given
                ? BootFile.Read($"server={parsed.GetValue(server)}\ncode={given}\nfingerprint={parsed.GetValue(fingerprint)}")
                : FromBoot(place, places);
            if (note is null)
            {
                await parsed.InvocationConfiguration.Error.WriteLineAsync(fault);
                return CommandLine.BadUsage;
            }
            if (note.Fault(parsed.GetValue(unencrypted)) is { } unfit)
            {
                await parsed.InvocationConfiguration.Error.WriteLineAsync(unfit);
                return CommandLine.BadUsage;
            }
            var status = await EnrolAsync(note, settings.DataFolder(parsed), parsed.InvocationConfiguration, cancellationToken);
            if (status == 0 && place is not null)
                await parsed.InvocationConfiguration.Output.WriteLineAsync(BootFile.Remove(place));
            return status;
        });
        return command;
    }

    private static async Task<int> EnrolAsync(BootFile note, string folder, InvocationConfiguration io, CancellationToken cancellationToken)
    {
        if (EnrolmentFiles.Fault(folder) is { } full)
        {
            await io.Error.WriteLineAsync($"{folder} takes no files ({full}); run it as the service's user or root. The code is not used yet");
            return CommandLine.Failed;
        }
        switch (await EnrolmentClient.EnrolAsync(note.Server, note.Code, note.Fingerprint is { Length: > 0 } given ? given : null, cancellationToken))
        {
            case EnrolmentOutcome.Enrolled(var reply):
                try
                {
                    EnrolmentFiles.Write(reply, folder);
                }
                catch (Exception error) when (error is IOException or UnauthorizedAccessException)
                {
                    await io.Error.WriteLineAsync($"enrolled, but {folder} takes no files ({error.Message}); run it as the service's user or root, with a new code");
                    return CommandLine.Failed;
                }
                await io.Output.WriteLineAsync($"enrolled as {reply.Gateway} for {reply.Spots.Count} spots ({string.Join(", ", reply.Spots.Select(spot => spot.Id))}); credentials are in {folder}. Next: check");
                return 0;
            case EnrolmentOutcome.Later(_, var reason):
                await io.Error.WriteLineAsync($"not enrolled: {reason}");
                return CommandLine.Failed;
            case EnrolmentOutcome.Never(var reason):
                await io.Error.WriteLineAsync($"not enrolled: {reason}");
                return CommandLine.Failed;
            case var unknown:
                throw new InvalidOperationException($"no such outcome: {unknown}");
        }
    }

    private static (BootFile? Note, string? Fault) FromBoot(string? place, IReadOnlyList<string> places)
    {
        return place is null
            ? (null, $"no code: give one, 'enrol CODE --server URL', or write server=… and code=… into {places[0]}")
            : BootFile.From(place);
    }
}
