using System.CommandLine;
using System.Net;
using PavementWatch.Gateway.Enrolment;

namespace PavementWatch.Gateway.Commands;

/// <summary><c>enrol</c>: fetches credentials with a single-use code.</summary>
internal static class EnrolCommand
{
    public static Command Create(SettingsArguments settings)
    {
        var code = new Argument<string?>("code") { Description = "the code on the business page; read from the boot partition when left out", Arity = ArgumentArity.ZeroOrOne };
        var server = new Option<string?>("--server") { Description = "address of the server's pages, e.g. https://walks.example", HelpName = "url" };
        var fingerprint = new Option<string?>("--fingerprint") { Description = "SHA-256 of the server's certificate as the business page shows it, when no public authority signed it", HelpName = "hex" };
        var unencrypted = new Option<bool>("--allow-unencrypted") { Description = "ask over http another machine; whoever listens gets the password" };
        var command = new Command("enrol", "Fetch this gateway's name, password and spots with a single-use code.") { code, server, fingerprint, unencrypted };
        command.SetAction(async (parsed, cancellationToken) =>
        {
            var (note, fault) = parsed.GetValue(code) is { } given
                ? BootFile.Read($"server={parsed.GetValue(server)}\ncode={given}\nfingerprint={parsed.GetValue(fingerprint)}")
                : FromBoot();
            if (note is null)
            {
                await parsed.InvocationConfiguration.Error.WriteLineAsync(fault);
                return CommandLine.BadUsage;
            }
            if (note.Server.Scheme == "http" && !IsThisMachine(note.Server) && !parsed.GetValue(unencrypted))
            {
                await parsed.InvocationConfiguration.Error.WriteLineAsync(
                    $"{note.Server} is not encrypted, and the password would travel in the open; use https, or --allow-unencrypted on a network nobody else is on");
                return CommandLine.BadUsage;
            }
            return await EnrolAsync(note, settings.DataFolder(parsed), parsed.InvocationConfiguration, cancellationToken);
        });
        return command;
    }

    private static async Task<int> EnrolAsync(BootFile note, string folder, InvocationConfiguration io, CancellationToken cancellationToken)
    {
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
            case EnrolmentOutcome.Refused(var reason):
                await io.Error.WriteLineAsync($"not enrolled: {reason}");
                return CommandLine.Failed;
            case var unknown:
                throw new InvalidOperationException($"no such outcome: {unknown}");
        }
    }

    private static (BootFile? Note, string? Fault) FromBoot()
    {
        if (BootFile.Places.FirstOrDefault(File.Exists) is not { } place)
            return (null, $"no code: give one, 'enrol CODE --server URL', or write server=… and code=… into {BootFile.Places[0]}");
        var (note, fault) = BootFile.Read(File.ReadAllText(place));
        return (note, fault is null ? null : $"{place}: {fault}");
    }

    private static bool IsThisMachine(Uri server) =>
        server.IsLoopback || (IPAddress.TryParse(server.Host, out var address) && IPAddress.IsLoopback(address));
}
