using System.CommandLine;
using System.Globalization;
using PavementWatch.Core.Mounting;

namespace PavementWatch.Gateway.Sizing;

/// <summary><c>size spot</c>: what an infrared sensor sees of the ground from its place.</summary>
internal static class SpotCommand
{
    private static readonly double[] TableFieldsOfView = [5, 10, 12, 35, 90];
    private static readonly double[] TableHeights = [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0];

    public static Command Create()
    {
        var height = new Option<double?>("--height") { Description = "height over the ground in m; without it a table is printed", HelpName = "m" };
        var view = new Option<double?>("--fov") { Description = "field of view of the sensor in degrees, from its data sheet", HelpName = "degrees" };
        var tilt = new Option<double>("--tilt") { Description = "angle between the sensor's axis and straight down in degrees", HelpName = "degrees" };
        var options = new Dictionary<string, Option>
        {
            ["heightMeters"] = height,
            ["fieldOfViewDegrees"] = view,
            ["tiltDegrees"] = tilt,
        };
        var command = new Command("spot", "The spot an infrared sensor sees from a height; without options a table.") { height, view, tilt };
        command.Validators.Add(result =>
        {
            if (result.GetResult(height) is null != result.GetResult(view) is null)
                result.AddError("--height and --fov go together, e.g. --height 2.5 --fov 12; without both a table is printed");
        });
        command.SetAction(parsed =>
        {
            var output = parsed.InvocationConfiguration.Output;
            if (parsed.GetValue(height) is not { } h || parsed.GetValue(view) is not { } v)
            {
                output.Write(Table());
                return 0;
            }

            try
            {
                output.Write(Describe(SensorFootprint.From(h, v, parsed.GetValue(tilt))));
                return 0;
            }
            catch (ArgumentOutOfRangeException fault)
            {
                return OptionFault.Report(parsed, fault, options);
            }
        });
        return command;
    }

    /// <summary>Spot diameters by height and field of view, straight down, as a Markdown table.</summary>
    private static string Table()
    {
        var lines = new List<string>
        {
            "| height | " + string.Join(" | ", TableFieldsOfView.Select(v => Say($"{v,5:0}°"))) + " |",
            "| ------ | " + string.Join(" | ", TableFieldsOfView.Select(_ => "-----:")) + " |",
        };
        lines.AddRange(TableHeights.Select(h =>
            Say($"| {h:0.0} m  | ") + string.Join(" | ", TableFieldsOfView.Select(v => Say($"{SensorFootprint.From(h, v).WidthMeters:0.00} m"))) + " |"));
        return Lines(lines);
    }

    private static string Describe(SensorFootprint spot) => Lines(
    [
        Say($"height {spot.HeightMeters:0.00} m, field of view {spot.FieldOfViewDegrees:0.#}°, tilt {spot.TiltDegrees:0.#}° from straight down"),
        Say($"spot   {spot.LengthMeters:0.00} m long, {spot.WidthMeters:0.00} m wide"),
        Say($"place  from {spot.NearMeters:0.00} m to {spot.FarMeters:0.00} m out from the point below the sensor, middle at {spot.CenterMeters:0.00} m"),
        .. MountingAdvice.For(spot).Select(r => (r.Concern == MountingConcern.None ? "  " : "! ") + r.Text),
    ]);

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);

    private static string Lines(IEnumerable<string> lines) => string.Concat(lines.Select(l => l + "\n"));
}
