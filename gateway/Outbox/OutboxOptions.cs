using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Outbox;

/// <summary>Where readings wait until the broker has them, and how much room they may take. Section <c>Outbox</c>.</summary>
public sealed class OutboxOptions
{
    /// <summary>The SQLite file. Relative paths start at the working directory; <c>outbox.db</c> unless set.</summary>
    [Required]
    public string Path { get; set; } = "outbox.db";

    /// <summary>[MB] Room for waiting readings, 1 to 100 000 inclusive; 200 unless set (30 days of 10 spots fit easily).</summary>
    /// <remarks>Past it the oldest are thinned to ten-minute means; when all are, the oldest are given up, counted.</remarks>
    [Range(1, 100_000)]
    public int MaxMegabytes { get; set; } = 200;

    /// <summary>[MB] Room left to the rest of the machine on the same disk, 0 to 100 000 inclusive; 50 unless set.</summary>
    [Range(0, 100_000)]
    public int KeepFreeMegabytes { get; set; } = 50;

    /// <summary>Readings kept in memory while the disk takes none, 10 to 100 000 inclusive; 20 000 unless set.</summary>
    [Range(10, 100_000)]
    public int MemoryReadings { get; set; } = 20_000;
}

[OptionsValidator]
internal sealed partial class OutboxOptionsValidator : IValidateOptions<OutboxOptions>;
