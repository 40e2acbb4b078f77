using System.Globalization;
using Microsoft.AspNetCore.Http;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Team;
using PavementWatch.Dashboards.Texts;

namespace PavementWatch.Dashboards.Checks;

/// <summary>The entry form as somebody filled it in, and what came of reading it.</summary>
internal sealed class CheckEntry
{
    public string Spot { get; set; } = "";

    public string Time { get; set; } = "";

    public string Temperature { get; set; } = "";

    public string Unit { get; set; } = "celsius";

    public string Thermometer { get; set; } = "";

    public string Emissivity { get; set; } = "0.95";

    public string Ground { get; set; } = "";

    public string Note { get; set; } = "";

    /// <summary>Faults by field, in plain sentences.</summary>
    public Dictionary<CheckField, string> Faults { get; } = [];

    public static CheckEntry Of(IFormCollection form) => new()
    {
        Spot = Text(form, "spot"),
        Time = Text(form, "time"),
        Temperature = Text(form, "temperature"),
        Unit = Text(form, "unit") == "fahrenheit" ? "fahrenheit" : "celsius",
        Thermometer = Text(form, "thermometer"),
        Emissivity = Text(form, "emissivity"),
        Ground = Text(form, "ground"),
        Note = Text(form, "note"),
    };

    /// <summary>Reads the form.</summary>
    /// <returns>The check; <c>null</c> when <see cref="Faults"/> says why not.</returns>
    public SpotCheck? Read(IReadOnlyList<Spot> spots, DateTimeOffset now, TemperatureUnit unit)
    {
        var spot = spots.FirstOrDefault(s => s.Id.Value == Spot);
        if (spot is null)
            Faults[CheckField.Spot] = "Choose the spot you stand at.";
        var at = now;
        if (spot is not null && Time.Length > 0 && LocalTimeEntry.TryRead(Time, spot.TimeZoneId, out at) is { } expected)
            Faults[CheckField.Time] = $"“{Time}” cannot be told; expected {expected}.";
        if (Number(Temperature) is not { } shown)
        {
            Faults[CheckField.Temperature] = Temperature.Length == 0
                ? "Enter what the thermometer shows."
                : $"“{Temperature}” is not a number; expected one like 51.5.";
            shown = 0;
        }

        var emissivity = Number(Emissivity);
        if (Emissivity.Length > 0 && emissivity is null)
            Faults[CheckField.Emissivity] = $"“{Emissivity}” is not a number; expected one like 0.95, or empty.";
        if (Faults.Count > 0 || spot is null)
            return null;
        var check = new SpotCheck(spot.Id, at, Unit == "fahrenheit" ? Temperatures.FromFahrenheit(shown) : shown)
        {
            Thermometer = Thermometer,
            EmissivityFraction = emissivity,
            Ground = Enum.TryParse<CheckedGround>(Ground, ignoreCase: true, out var ground) ? ground : CheckedGround.Unknown,
            Note = Note,
        };
        if (SpotCheckRules.Fault(check, now, unit, spot.TimeZoneId) is not { } fault)
            return check;
        Faults[fault.Field] = $"{fault}.";
        return null;
    }

    // Phones of many countries have a comma on the number pad; with one of them there is nothing to confuse it with.
    private static double? Number(string text) =>
        double.TryParse(text.Replace(',', '.'), NumberStyles.Float, CultureInfo.InvariantCulture, out var value) && double.IsFinite(value)
            ? value
            : null;

    private static string Text(IFormCollection form, string name) => form[name].ToString().Trim();
}
