using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Simulation;

/// <summary>What is really the case at a spot; simulated sensors measure it with their own faults.</summary>
/// <param name="SurfaceCelsius">[°C] The surface.</param>
/// <param name="AirCelsius">[°C] The air in the shade.</param>
/// <param name="HumidityPercent">[%] Relative humidity, 0 to 100.</param>
/// <param name="ReflectedCelsius">[°C] What the surface reflects into the sensor, as a black body; <c>null</c> is the sky over such air.</param>
internal readonly record struct TrueValues(
    double SurfaceCelsius, double AirCelsius, double HumidityPercent, double? ReflectedCelsius = null)
{
    /// <summary>[fraction] Of the sky that cloud fills; warm as the air in the infrared.</summary>
    public double CloudFraction { get; init; }

    /// <summary>[lx] Illuminance.</summary>
    public double LightLux { get; init; }

    /// <summary>[V] Supply voltage.</summary>
    public double SupplyVolts { get; init; } = 5.1;
}

/// <summary>The world simulated sensors look at, at the moment of the given clock.</summary>
/// <param name="truth">What is the case at a spot and time; must be quick, it is asked for every transfer.</param>
/// <param name="clock">The clock, which may run many times faster than life.</param>
internal sealed class SimulatedWorld(Func<SpotId, DateTimeOffset, TrueValues> truth, TimeProvider clock)
{
    /// <summary>[K] Standard deviation of the infrared sensor's noise; about its resolution of 0.02 K unless set.</summary>
    public double NoiseKelvin { get; init; } = 0.03;

    /// <summary>Now, by the world's clock.</summary>
    public DateTimeOffset Now => clock.GetUtcNow();

    /// <summary>What is the case at a spot now.</summary>
    public TrueValues At(SpotId spot) => truth(spot, clock.GetUtcNow());
}
