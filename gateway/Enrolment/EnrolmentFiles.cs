using System.Text.Json;
using System.Text.Json.Nodes;
using PavementWatch.Gateway.Settings;

namespace PavementWatch.Gateway.Enrolment;

/// <summary>Writes what enrolment brought into the data folder, where the gateway finds it at its next start.</summary>
internal static class EnrolmentFiles
{
    private static readonly JsonSerializerOptions Form = new() { WriteIndented = true };

    /// <summary>Writes <c>enrolment.json</c>, <c>password</c> (for the owner's eyes only) and <c>authority.pem</c>.</summary>
    /// <exception cref="IOException">The folder takes no files.</exception>
    /// <exception cref="UnauthorizedAccessException">Not with this user.</exception>
    public static void Write(EnrolmentReply reply, string folder)
    {
        Directory.CreateDirectory(folder);
        var password = Path.GetFullPath(Path.Combine(folder, "password"));
        var authority = Path.GetFullPath(Path.Combine(folder, "authority.pem"));
        WriteFile(password, reply.Password, secret: true);
        var tls = !string.IsNullOrWhiteSpace(reply.CaPem);
        if (tls)
            WriteFile(authority, reply.CaPem!, secret: false);
        var publishing = new JsonObject
        {
            ["BrokerHost"] = reply.BrokerHost,
            ["BrokerPort"] = reply.BrokerPort,
            ["User"] = reply.User,
            ["PasswordFile"] = password,
            ["Tls"] = tls,
        };
        if (tls)
            publishing["AuthorityFile"] = authority;
        var settings = new JsonObject
        {
            ["Gateway"] = new JsonObject { ["Id"] = reply.Gateway },
            ["Publishing"] = publishing,
            ["Spots"] = new JsonObject(reply.Spots.Select(spot => KeyValuePair.Create(spot.Id, (JsonNode?)Spot(spot)))),
        };
        // Last, as it is what makes the others count.
        WriteFile(Path.Combine(folder, SettingsSources.EnrolmentFile), settings.ToJsonString(Form), secret: false);
    }

    /// <summary>Why the folder takes no files; <c>null</c> when it does. To be asked before a code is used, which is good only once.</summary>
    public static string? Fault(string folder)
    {
        try
        {
            Directory.CreateDirectory(folder);
            WriteFile(Path.Combine(folder, "password.try"), new string('.', 4096), secret: true);
            File.Delete(Path.Combine(folder, "password.try"));
            return null;
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            return error.Message.TrimEnd('.');
        }
    }

    private static JsonObject Spot(EnrolledSpot spot)
    {
        var settings = new JsonObject();
        if (spot.Surface is not null)
            settings["Surface"] = spot.Surface;
        if (spot.EmissivityFraction is { } emissivity)
            settings["EmissivityFraction"] = emissivity;
        if (spot.LimitCelsius is { } limit)
            settings["LimitCelsius"] = limit;
        return settings;
    }

    private static void WriteFile(string path, string text, bool secret)
    {
        var options = new FileStreamOptions { Mode = FileMode.Create, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows())
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite | (secret ? 0 : UnixFileMode.GroupRead | UnixFileMode.OtherRead);
        var beside = path + ".new";
        File.Delete(beside);
        using (var file = new StreamWriter(beside, options))
        {
            file.Write(text);
            file.Flush();
            ((FileStream)file.BaseStream).Flush(flushToDisk: true);
        }
        File.Move(beside, path, overwrite: true);
    }
}
