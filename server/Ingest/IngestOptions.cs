using System.ComponentModel.DataAnnotations;
using System.Globalization;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Ingest;

/// <summary>What is expected of gateways. Section <c>Ingest</c>.</summary>
internal sealed class IngestOptions
{
    /// <summary>Least of <see cref="ClockTolerance"/>.</summary>
    private const string LeastTolerance = "00:00:10";

    /// <summary>How far a gateway's clock and this server's may differ before it is said that one of them is wrong. 10 s to 1 day inclusive; twice <c>Watch:Interval</c>, 2 min, unless set.</summary>
    [Range(typeof(TimeSpan), LeastTolerance, "1.00:00:00")]
    public TimeSpan ClockTolerance { get; set; } = ToleranceAt(TimeSpan.FromMinutes(1));

    /// <summary>The tolerance unless it is set: two intervals.</summary>
    /// <param name="interval">How often a spot is read.</param>
    public static TimeSpan ToleranceAt(TimeSpan interval) =>
        new[] { 2 * interval, TimeSpan.Parse(LeastTolerance, CultureInfo.InvariantCulture) }.Max();
}

[OptionsValidator]
internal sealed partial class IngestOptionsValidator : IValidateOptions<IngestOptions>;
