using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Ingest;

/// <summary>What is expected of gateways. Section <c>Ingest</c>.</summary>
internal sealed class IngestOptions
{
    /// <summary>How far a gateway's clock and this server's may differ before it is said that one of them is wrong. 10 s to 1 day inclusive; 2 min, two intervals, unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:10", "1.00:00:00")]
    public TimeSpan ClockTolerance { get; set; } = TimeSpan.FromMinutes(2);
}

[OptionsValidator]
internal sealed partial class IngestOptionsValidator : IValidateOptions<IngestOptions>;
