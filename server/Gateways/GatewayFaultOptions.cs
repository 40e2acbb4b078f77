using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Server.Gateways;

/// <summary>When the business is told of what nobody stands beside. Section <c>Gateways</c>.</summary>
internal sealed class GatewayFaultOptions
{
    /// <summary>How long a gateway is away, or a probe of it gives nothing, before it is a fault. 2 min to 1 day inclusive; 15 min unless set.</summary>
    [Range(typeof(TimeSpan), "00:02:00", "1.00:00:00")]
    public TimeSpan OfflineAfter { get; init; } = TimeSpan.FromMinutes(15);

    /// <summary>How long a spot that was measured has no good reading before it is a fault. 10 min to 7 days inclusive; 1 h unless set.</summary>
    [Range(typeof(TimeSpan), "00:10:00", "7.00:00:00")]
    public TimeSpan SilentAfter { get; init; } = TimeSpan.FromHours(1);
}

[OptionsValidator]
internal sealed partial class GatewayFaultOptionsValidator : IValidateOptions<GatewayFaultOptions>;
