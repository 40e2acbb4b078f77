using System.CommandLine;
using System.Globalization;
using PavementWatch.Core.Power;

namespace PavementWatch.Gateway.Sizing;

/// <summary><c>size power</c>: days without sun, and the panel that keeps the battery full.</summary>
internal sealed class PowerCommand
{
    private readonly Option<double> _battery = new("--battery-wh") { Description = "battery in Wh, or volts times ampere-hours", HelpName = "Wh", Required = true };
    private readonly Option<double> _load = new("--load-w") { Description = "mean power of everything it feeds in W, measured", HelpName = "W", Required = true };
    private readonly Option<string> _kind = new("--battery") { Description = "what the battery is made of", DefaultValueFactory = _ => "lead" };
    private readonly Option<double?> _usable = new("--usable") { Description = "share of the battery that may be used; 0.5 for lead, 0.8 for lithium unless given", HelpName = "fraction" };
    private readonly Option<double> _celsius = new("--celsius") { Description = "battery in the coldest nights in °C", HelpName = "°C", DefaultValueFactory = _ => 0 };
    private readonly Option<double?> _panel = new("--panel-w") { Description = "solar panel in W", HelpName = "W" };
    private readonly Option<double?> _sun = new("--sun-hours") { Description = "peak-sun hours on the panel in the worst month of use, from a solar atlas", HelpName = "h" };
    private readonly Option<double> _loss = new("--losses") { Description = "share lost between panel and load", HelpName = "fraction", DefaultValueFactory = _ => PowerRequest.DefaultLossFraction };
    private readonly Option<double> _days = new("--days") { Description = "days without sun to last through", HelpName = "d", DefaultValueFactory = _ => 3 };
    private readonly Option<double> _refill = new("--refill-days") { Description = "days in which an empty battery shall be full again", HelpName = "d", DefaultValueFactory = _ => 3 };

    private PowerCommand() => _kind.AcceptOnlyFromAmong("lead", "lithium");

    public static Command Create() => new PowerCommand().Build();

    private Command Build()
    {
        var command = new Command("power", "How long a battery lasts without sun, and the panel that refills it.")
        {
            _battery, _load, _kind, _usable, _celsius, _panel, _sun, _loss, _days, _refill,
        };
        command.Validators.Add(result =>
        {
            if (result.GetResult(_panel) is not null && result.GetResult(_sun) is null)
                result.AddError("--panel-w needs --sun-hours, e.g. --sun-hours 3");
        });
        command.SetAction(parsed =>
        {
            try
            {
                parsed.InvocationConfiguration.Output.Write(Describe(PowerSizing.Of(Request(parsed))));
                return 0;
            }
            catch (ArgumentOutOfRangeException fault)
            {
                return OptionFault.Report(parsed, fault, Options());
            }
        });
        return command;
    }

    private PowerRequest Request(ParseResult parsed) => new(parsed.GetValue(_battery), parsed.GetValue(_load))
    {
        Kind = parsed.GetValue(_kind) == "lithium" ? BatteryKind.LithiumIronPhosphate : BatteryKind.LeadAcid,
        UsableFraction = parsed.GetValue(_usable),
        BatteryCelsius = parsed.GetValue(_celsius),
        PanelWatts = parsed.GetValue(_panel),
        PeakSunHours = parsed.GetValue(_sun),
        LossFraction = parsed.GetValue(_loss),
        WantedDays = parsed.GetValue(_days),
        RefillDays = parsed.GetValue(_refill),
    };

    private Dictionary<string, Option> Options() => new()
    {
        [nameof(PowerRequest.BatteryWattHours)] = _battery,
        [nameof(PowerRequest.LoadWatts)] = _load,
        [nameof(PowerRequest.UsableFraction)] = _usable,
        [nameof(PowerRequest.BatteryCelsius)] = _celsius,
        [nameof(PowerRequest.PanelWatts)] = _panel,
        [nameof(PowerRequest.PeakSunHours)] = _sun,
        [nameof(PowerRequest.LossFraction)] = _loss,
        [nameof(PowerRequest.WantedDays)] = _days,
        [nameof(PowerRequest.RefillDays)] = _refill,
    };

    private static string Describe(PowerSizing sizing)
    {
        var r = sizing.Request;
        List<string> lines =
        [
            Say($"load           {r.LoadWatts:0.##} W x 24 h = {sizing.LoadWattHoursPerDay:0} Wh a day"),
            Say($"battery        {r.BatteryWattHours:0} Wh x {sizing.UsableFraction:0.00} usable x {sizing.CapacityFraction:0.00} at {r.BatteryCelsius:0} °C = {sizing.UsableWattHours:0} Wh"),
            Say($"without sun    {sizing.UsableWattHours:0} Wh / {sizing.LoadWattHoursPerDay:0} Wh a day = {sizing.DaysOfAutonomy:0.0} days"),
        ];
        if (!sizing.LastsLongEnough)
            lines.Add(Say($"! Less than the {r.WantedDays:0.#} days wanted: take a battery of {Up(sizing.BatteryWattHoursNeeded, 10):0} Wh or more."));
        if (sizing.PanelWattHoursPerDay is { } brought)
        {
            lines.Add(Say($"panel          {r.PanelWatts:0} W x {r.PeakSunHours:0.0} h x (1 - {r.LossFraction:0.00} lost) = {brought:0} Wh a day"));
            lines.Add(sizing.DaysToRefill is { } days
                ? Say($"to refill      {sizing.UsableWattHours:0} Wh / ({brought:0} - {sizing.LoadWattHoursPerDay:0}) Wh a day = {days:0.0} days")
                : Say($"! The panel brings {brought:0} Wh a day and the load takes {sizing.LoadWattHoursPerDay:0} Wh: the battery runs empty."));
        }

        if (sizing.PanelWattsNeeded is { } needed)
        {
            lines.Add(Say($"panel needed   ({sizing.LoadWattHoursPerDay:0} + {sizing.UsableWattHours:0} / {r.RefillDays:0.#}) Wh / ({r.PeakSunHours:0.0} h x {1 - r.LossFraction:0.00}) = {Math.Ceiling(needed):0} W, to be full again in {r.RefillDays:0.#} days"));
            if (r.PanelWatts < needed)
                lines.Add(Say($"! The panel of {r.PanelWatts:0} W is smaller than that."));
        }

        if (sizing.ChargesTooCold)
            lines.Add("! A lithium battery must not be charged below 0 °C: take a charger that stops, or a heated box, or lead.");
        return string.Concat(lines.Select(l => l + "\n"));
    }

    private static double Up(double value, double step) => Math.Ceiling(value / step) * step;

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
