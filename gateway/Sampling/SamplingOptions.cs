using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Sampling;

/// <summary>How often probes are asked and readings made. Section <c>Sampling</c>.</summary>
internal sealed class SamplingOptions
{
    /// <summary>Pause between two samples of a probe. 1 s to 1 min inclusive; 5 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "00:01:00")]
    public TimeSpan Period { get; init; } = TimeSpan.FromSeconds(5);

    /// <summary>What a reading stands for. 10 s to 10 min inclusive; 1 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:10", "00:10:00")]
    public TimeSpan Interval { get; init; } = TimeSpan.FromMinutes(1);
}

[OptionsValidator]
internal sealed partial class SamplingOptionsValidator : IValidateOptions<SamplingOptions>;
