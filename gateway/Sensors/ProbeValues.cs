namespace PavementWatch.Gateway.Sensors;

/// <summary>What one probe measured at one moment; <c>null</c> is what it does not measure.</summary>
internal sealed record ProbeValues
{
    /// <summary>[°C] What an infrared sensor sees, as if the surface were black (emissivity 1). Not yet corrected.</summary>
    public double? ApparentCelsius { get; init; }

    /// <summary>[°C] The infrared sensor's own body.</summary>
    public double? SensorCelsius { get; init; }

    /// <summary>[°C] A thermometer touching the surface.</summary>
    public double? ContactCelsius { get; init; }

    /// <summary>[°C] Air.</summary>
    public double? AirCelsius { get; init; }

    /// <summary>[%] Relative humidity, 0 to 100.</summary>
    public double? HumidityPercent { get; init; }

    /// <summary>[Pa] Pressure of the air.</summary>
    public double? PressurePascals { get; init; }

    /// <summary>[lx] Illuminance.</summary>
    public double? LightLux { get; init; }

    /// <summary>[V] Supply voltage.</summary>
    public double? SupplyVolts { get; init; }
}
