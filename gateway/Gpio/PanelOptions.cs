using System.ComponentModel.DataAnnotations;
using Microsoft.Extensions.Options;

namespace PavementWatch.Gateway.Gpio;

/// <summary>The warning lamp and the service button at the gate. Section <c>Panel</c>; pins by their GPIO number.</summary>
internal sealed class PanelOptions
{
    /// <summary>Pin of the lamp's driver, 2 to 27 inclusive; no lamp unless set.</summary>
    [Range(2, 27)]
    public int? LampPin { get; init; }

    /// <summary>Whether the lamp is lit by a low level; by a high one unless set.</summary>
    public bool LampActiveLow { get; init; }

    /// <summary>Pin of the button, which connects it to ground, 2 to 27 inclusive; no button unless set.</summary>
    [Range(2, 27)]
    public int? ButtonPin { get; init; }

    /// <summary>How long the button is held for a self-check. 1 s to 30 s inclusive; 5 s unless set.</summary>
    [Range(typeof(TimeSpan), "00:00:01", "00:00:30")]
    public TimeSpan Hold { get; init; } = TimeSpan.FromSeconds(5);
}

[OptionsValidator]
internal sealed partial class PanelOptionsValidator : IValidateOptions<PanelOptions>;
