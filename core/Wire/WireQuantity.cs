using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Wire;

/// <summary>A quantity of a reading on the wire: its SenML name, its unit (RFC 8428, section 12.1) and its place in a reading.</summary>
internal sealed record WireQuantity(
    string Name, string Unit, bool Spoils, Func<Reading, double?> Get, Func<Reading, double, Reading> With)
{
    public static readonly IReadOnlyList<WireQuantity> All =
    [
        new("surface", "Cel", true, r => r.SurfaceCelsius, (r, v) => r with { SurfaceCelsius = v }),
        // What ails an air probe says nothing of the ground: a warning does not wait for it.
        new("air", "Cel", false, r => r.AirCelsius, (r, v) => r with { AirCelsius = v }),
        new("humidity", "%RH", false, r => r.HumidityPercent, (r, v) => r with { HumidityPercent = v }),
        new("sensor", "Cel", false, r => r.SensorCelsius, (r, v) => r with { SensorCelsius = v }),
        new("light", "lx", false, r => r.LightLux, (r, v) => r with { LightLux = v }),
        new("supply", "V", false, r => r.SupplyVolts, (r, v) => r with { SupplyVolts = v }),
        new("spread", "K", false, r => r.SpreadKelvin, (r, v) => r with { SpreadKelvin = v }),
    ];

    public static WireQuantity? Find(string name) => All.FirstOrDefault(q => q.Name == name);
}
