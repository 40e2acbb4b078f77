using System.Net;

namespace PavementWatch.Gateway.Enrolment;

/// <summary>A note on the card's boot partition, which any computer can write: <c>server=https://…</c>, <c>code=…</c>, perhaps <c>fingerprint=…</c>, one a line.</summary>
/// <param name="Server">The server's pages.</param>
/// <param name="Code">The code.</param>
/// <param name="Fingerprint">The certificate's fingerprint, where it is needed.</param>
internal sealed record BootFile(Uri Server, string Code, string? Fingerprint)
{
    /// <summary>Where it is looked for: Raspberry Pi OS of today, then of before.</summary>
    public static readonly string[] Places = ["/boot/firmware/pavementwatch.txt", "/boot/pavementwatch.txt"];

    private const int MaxBytes = 4096;

    /// <summary>Takes the note off the card, once its code is used up.</summary>
    /// <returns>What to tell whoever enrolled.</returns>
    public static string Remove(string place)
    {
        try
        {
            File.Delete(place);
            return $"{place} is removed, its code is used up";
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return $"{place} cannot be removed ({error.Message.TrimEnd('.')}); its code is used up and harms nobody, but delete the file when the card is writable";
        }
    }

    /// <summary>Reads the note at a place.</summary>
    /// <returns>The note, or what is wrong with it, the place named.</returns>
    public static (BootFile? Note, string? Fault) From(string place)
    {
        try
        {
            if (new FileInfo(place).Length > MaxBytes)
                return (null, $"{place}: more than {MaxBytes} B, expected a few lines");
            var (note, fault) = Read(File.ReadAllText(place));
            return (note, fault is null ? null : $"{place}: {fault}");
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return (null, $"{place} cannot be read ({error.Message.TrimEnd('.')}); write it again on another computer");
        }
    }

    /// <summary>Why the note must not be used as it is; <c>null</c> when it may.</summary>
    /// <param name="allowUnencrypted">Whether somebody said that nobody else is on the network.</param>
    public string? Fault(bool allowUnencrypted) =>
        Server.Scheme != "http" || allowUnencrypted || IsThisMachine ? null
        : $"{Server} is not encrypted, and the password would travel in the open; use https, or --allow-unencrypted on a network nobody else is on";

    private bool IsThisMachine => Server.IsLoopback || (IPAddress.TryParse(Server.Host, out var address) && IPAddress.IsLoopback(address));

    /// <summary>Reads the note.</summary>
    /// <returns>The note, or what is wrong with it.</returns>
    public static (BootFile? Note, string? Fault) Read(string text)
    {
        var lines = text.Split('\n')
            .Select(line => line.Trim()).Where(line => line.Length > 0 && line[0] != '#')
            .Select(line => line.Split('=', 2)).ToList();
        if (lines.FirstOrDefault(line => line.Length < 2) is { } odd)
            return (null, $"'{odd[0]}' is no line of it, expected server=…, code=… and perhaps fingerprint=…");
        string? Of(string key) => lines.LastOrDefault(line => line[0].Trim().Equals(key, StringComparison.OrdinalIgnoreCase))?[1].Trim();
        if (!Uri.TryCreate(Of("server"), UriKind.Absolute, out var server) || server.Scheme is not ("http" or "https"))
            return (null, $"server is '{Of("server")}', expected an address such as https://walks.example");
        return Of("code") is { Length: > 0 } code
            ? (new BootFile(server, code, Of("fingerprint")), null)
            : (null, "code is missing; the business page shows one");
    }
}
