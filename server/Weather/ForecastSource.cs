using System.Security.Cryptography;
using System.Text;
using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Weather;

/// <summary>What a source of forecasts gave at a look.</summary>
/// <param name="Text">The file's text; <c>null</c> when nothing is new, or when there is a fault.</param>
/// <param name="IssuedAt">When it was made, unless it says so itself.</param>
/// <param name="Fault">Why there is nothing, with the remedy; <c>null</c> when there is no fault.</param>
internal readonly record struct ForecastLook(string? Text, DateTimeOffset IssuedAt, string? Fault);

/// <summary>A file or an address that is looked at again and again. One at a time.</summary>
internal abstract class ForecastSource(string name)
{
    /// <summary>Most that is read: years of hours for a place.</summary>
    public const int MostBytes = 16 * 1024 * 1024;

    private byte[] _lastHash = [];

    /// <summary>Where it is.</summary>
    public string Name => name;

    /// <summary>Why its last look gave nothing usable; <c>null</c> when all is well.</summary>
    public string? Fault { get; set; }

    /// <summary>Looks; the same text a second time is nothing new.</summary>
    public async Task<ForecastLook> LookAsync(DateTimeOffset now, CancellationToken cancellationToken)
    {
        var look = await ReadAsync(now, cancellationToken);
        if (look.Text is not { } text)
            return look;
        var hash = SHA256.HashData(Encoding.UTF8.GetBytes(text));
        if (hash.AsSpan().SequenceEqual(_lastHash))
            return look with { Text = null };
        _lastHash = hash;
        return look;
    }

    /// <summary>Takes the next look's text for new, whatever it is.</summary>
    public void Forget() => _lastHash = [];

    protected abstract Task<ForecastLook> ReadAsync(DateTimeOffset now, CancellationToken cancellationToken);

    protected static ForecastLook TooLarge() =>
        new(null, default, $"more than {MostBytes / 1024 / 1024} MiB, expected less; leave out what lies behind");
}

/// <summary>A file that somebody's program writes.</summary>
internal sealed class ForecastFile(string path) : ForecastSource(path)
{
    protected override async Task<ForecastLook> ReadAsync(DateTimeOffset now, CancellationToken cancellationToken)
    {
        try
        {
            var file = new FileInfo(Name);
            if (!file.Exists)
                return new ForecastLook(null, now, "there is no such file; look at Weather:ForecastFile and at the program that writes it");
            return file.Length > MostBytes
                ? TooLarge()
                : new ForecastLook(await File.ReadAllTextAsync(Name, cancellationToken), new DateTimeOffset(file.LastWriteTimeUtc), null);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return new ForecastLook(null, now, $"{e.Message} Look at the rights of file and folder.");
        }
    }
}

/// <summary>An address that answers with a forecast. It may hold a key, so its name is its host's.</summary>
internal sealed class ForecastAddress(string url, HttpClient client) : ForecastSource(ShownAddress.Of(url))
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);

    /// <summary>A client with the limits of a look.</summary>
    public static HttpClient Client() => new() { Timeout = Patience, MaxResponseContentBufferSize = MostBytes };

    protected override async Task<ForecastLook> ReadAsync(DateTimeOffset now, CancellationToken cancellationToken)
    {
        try
        {
            using var answer = await client.GetAsync(new Uri(url), cancellationToken);
            if (!answer.IsSuccessStatusCode)
                return new ForecastLook(null, now, $"it answered {(int)answer.StatusCode} {answer.ReasonPhrase}, expected 200; open Weather:ForecastUrl in a browser");
            var text = await answer.Content.ReadAsStringAsync(cancellationToken);
            return new ForecastLook(text.TrimStart('\uFEFF'), answer.Content.Headers.LastModified ?? now, null);
        }
        catch (HttpRequestException e) when (e.HttpRequestError == HttpRequestError.ConfigurationLimitExceeded)
        {
            return TooLarge();
        }
        catch (HttpRequestException e)
        {
            return new ForecastLook(null, now, $"{e.Message}; look at Weather:ForecastUrl and at this machine's way to it");
        }
        catch (TaskCanceledException) when (!cancellationToken.IsCancellationRequested)
        {
            return new ForecastLook(null, now, $"no answer within {Patience.TotalSeconds:0} s; look at this machine's way to it");
        }
    }
}
