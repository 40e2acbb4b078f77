using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Clock;

/// <summary>When the system's clock is believed. Section <c>Clock</c>.</summary>
public sealed class ClockOptions
{
    /// <summary>Whom to believe; <see cref="ClockTrust.Network"/> unless set.</summary>
    [EnumDataType(typeof(ClockTrust))]
    public ClockTrust Trust { get; set; } = ClockTrust.Network;
}

/// <summary>When the system's clock is believed.</summary>
public enum ClockTrust
{
    /// <summary>Once the kernel says that a time service keeps it. Right for a Pi, whose clock starts anywhere.</summary>
    Network = 0,

    /// <summary>Always. Right for a machine with a clock of its own.</summary>
    System,
}

[OptionsValidator]
internal sealed partial class ClockOptionsValidator : IValidateOptions<ClockOptions>;
