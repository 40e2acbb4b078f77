using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Faults;

namespace PavementWatch.Server.Store;

/// <summary>Which store keeps the readings.</summary>
internal enum StoreKind
{
    /// <summary>A file beside the server.</summary>
    Sqlite,

    /// <summary>An InfluxDB 2.x server.</summary>
    InfluxDb,
}

/// <summary>Where readings are kept. Section <c>Store</c>.</summary>
internal sealed class StoreOptions : IValidatableObject
{
    /// <summary><c>sqlite</c> unless set, or <c>influxdb</c>.</summary>
    public StoreKind Kind { get; init; } = StoreKind.Sqlite;

    /// <summary>The SQLite file; its folder is made. Its <c>-wal</c> and <c>-shm</c> neighbours belong to it.</summary>
    public string Path { get; init; } = "data/readings.db";

    /// <summary>Address of the InfluxDB server, e.g. <c>https://influx.example:8086</c>.</summary>
    public string Url { get; init; } = "";

    /// <summary>InfluxDB organisation.</summary>
    public string Org { get; init; } = "";

    /// <summary>InfluxDB bucket; its retention must be longer than the days the fits and curves look back.</summary>
    public string Bucket { get; init; } = "";

    /// <summary>InfluxDB token that may read and write the bucket. Better in <see cref="TokenFile"/>.</summary>
    public string Token { get; init; } = "";

    /// <summary>File whose content is the token.</summary>
    public string TokenFile { get; init; } = "";

    /// <summary>Batches that may wait for the writer before senders are made to wait. 1 to 100 000 inclusive; 1000 unless set.</summary>
    [Range(1, 100_000)]
    public int QueuedBatches { get; init; } = 1000;

    /// <summary>Readings committed together at most. 1 to 100 000 inclusive; 5000 unless set.</summary>
    [Range(1, 100_000)]
    public int ReadingsPerCommit { get; init; } = 5000;

    /// <summary>Patience with one request to InfluxDB. 1 s to 5 min inclusive; 10 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "00:05:00")]
    public TimeSpan RequestTimeout { get; init; } = TimeSpan.FromSeconds(10);

    /// <inheritdoc />
    public IEnumerable<ValidationResult> Validate(ValidationContext validationContext)
    {
        if (Kind == StoreKind.Sqlite)
        {
            if (Path.Length == 0)
                yield return new ValidationResult("Store:Path is empty; name the file that keeps the readings", [nameof(Path)]);
            yield break;
        }

        if (!Uri.TryCreate(Url, UriKind.Absolute, out var url) || url.Scheme is not ("http" or "https"))
        {
            yield return new ValidationResult(
                $"Store:Url is '{ShownAddress.Of(Url)}'; Store:Kind=influxdb expects an address like https://influx.example:8086", [nameof(Url)]);
        }

        if (Org.Length == 0)
            yield return new ValidationResult("Store:Org is empty; name the InfluxDB organisation", [nameof(Org)]);
        if (Bucket.Length == 0)
            yield return new ValidationResult("Store:Bucket is empty; name the InfluxDB bucket", [nameof(Bucket)]);
        if ((Token.Length == 0) == (TokenFile.Length == 0))
        {
            yield return new ValidationResult(
                "Store:Token and Store:TokenFile: exactly one of them must be set for Store:Kind=influxdb", [nameof(Token)]);
        }
        else if (TokenFile.Length > 0 && !File.Exists(TokenFile))
        {
            yield return new ValidationResult(
                $"Store:TokenFile names '{TokenFile}', which is not there or may not be read", [nameof(TokenFile)]);
        }
    }

    /// <summary>The token, from wherever it is kept.</summary>
    public string ReadToken() => TokenFile.Length > 0 ? File.ReadAllText(TokenFile).Trim() : Token;
}

[OptionsValidator]
internal sealed partial class StoreOptionsValidator : IValidateOptions<StoreOptions>;
