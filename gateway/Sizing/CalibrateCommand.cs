using System.CommandLine;
using System.Globalization;
using PavementWatch.Core.Calibration;

namespace PavementWatch.Gateway.Sizing;

/// <summary><c>calibrate</c>: gain and offset of an infrared sensor, from two targets measured now or from numbers noted before.</summary>
internal sealed class CalibrateCommand
{
    private const double IceEmissivity = 1;
    private const double TapeEmissivity = 0.95;

    private static readonly CalibrationRule Rule = new();

    private readonly Func<ParseResult, CalibrationBench> _open;
    private readonly TextReader _input;
    private readonly Option<string> _probe = new("--probe") { Description = "name of the infrared probe in the settings", HelpName = "name", DefaultValueFactory = _ => "NAME" };
    private readonly Option<string?> _thermometer = new("--thermometer") { Description = "name of the contact thermometer in the settings; measures now", HelpName = "name" };
    private readonly Option<double> _minutes = new("--minutes") { Description = "how long each target is measured, 1 to 30", HelpName = "min", DefaultValueFactory = _ => 3 };
    private readonly Option<double[]> _reference = Two("--reference", "what the thermometer said at both targets in °C");
    private readonly Option<double[]> _measured = Two("--measured", "what the infrared sensor said at both targets in °C, uncalibrated, at emissivity 1");
    private readonly Option<double[]> _emissivity = Two("--emissivity", "emissivity of both targets; 1 (hole in crushed ice) near 0 °C and 0.95 (masking tape) elsewhere unless given");
    private readonly Option<double> _surroundings = new("--surroundings") { Description = "temperature of the room in °C", HelpName = "°C", DefaultValueFactory = _ => 22 };

    private CalibrateCommand(Func<ParseResult, CalibrationBench> open, TextReader input) => (_open, _input) = (open, input);

    /// <summary>The verb.</summary>
    /// <param name="open">Lays this gateway's probes on the bench.</param>
    /// <param name="input">Where the person presses Enter.</param>
    public static Command Create(Func<ParseResult, CalibrationBench> open, TextReader input) =>
        new CalibrateCommand(open, input).Build();

    private static Option<double[]> Two(string name, string description) => new(name)
    {
        Description = description,
        HelpName = "cold warm",
        Arity = new ArgumentArity(2, 2),
        AllowMultipleArgumentsPerToken = true,
    };

    private Command Build()
    {
        var command = new Command("calibrate", "Compare an infrared probe with a contact thermometer in an ice bath and on a warm plate.")
        {
            _probe, _thermometer, _minutes, _reference, _measured, _emissivity, _surroundings,
        };
        _minutes.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<double>() is not (>= 1 and <= 30) and var minutes)
                result.AddError(string.Create(CultureInfo.InvariantCulture, $"--minutes is {minutes}, expected 1 to 30"));
        });
        command.Validators.Add(result =>
        {
            var (live, noted) = (result.GetResult(_thermometer) is not null, result.GetResult(_reference) is not null);
            if (noted != result.GetResult(_measured) is not null)
                result.AddError("--reference and --measured go together, e.g. --reference 0.1 55.2 --measured 0.7 53.1");
            else if (live == noted)
                result.AddError("give --probe and --thermometer to measure now, or --reference and --measured with numbers noted before");
        });
        command.SetAction(RunAsync);
        return command;
    }

    private async Task<int> RunAsync(ParseResult parsed, CancellationToken cancellationToken)
    {
        var io = parsed.InvocationConfiguration;
        CalibrationPoint one, other;
        if (parsed.GetValue(_thermometer) is { } thermometer)
        {
            using var bench = _open(parsed);
            var probe = parsed.GetValue(_probe)!;
            if (bench.Fault(probe, thermometer) is { } unfit)
                return Fail(io, unfit, OptionFault.BadUsage);

            var session = new CalibrationSession(
                bench, probe, thermometer, TimeSpan.FromMinutes(parsed.GetValue(_minutes)), _input, io.Output);
            var (cold, coldFault) = await session.MeasureAsync("ice bath", cancellationToken);
            if (cold is null)
                return Fail(io, coldFault!, 1);
            var (warm, warmFault) = await session.MeasureAsync("warm plate", cancellationToken);
            if (warm is null)
                return Fail(io, warmFault!, 1);
            (one, other) = (cold, warm);
        }
        else
        {
            var (reference, measured) = (parsed.GetValue(_reference)!, parsed.GetValue(_measured)!);
            (one, other) = (new(reference[0], measured[0]), new(reference[1], measured[1]));
        }

        switch (TwoPointCalibration.Of(Dressed(parsed, one, 0), Dressed(parsed, other, 1), Rule))
        {
            case Calibrated done:
                await io.Output.WriteAsync(CalibrationReport.Of(done, parsed.GetValue(_probe)!));
                return 0;
            case CalibrationRefused { Fault: CalibrationFault.OutOfRange } refused:
                return Fail(io, refused.Reason, OptionFault.BadUsage);
            case CalibrationRefused refused:
                return Fail(io, refused.Reason, 1);
            case var unknown:
                throw new InvalidOperationException($"no such outcome: {unknown}");
        }
    }

    private CalibrationPoint Dressed(ParseResult parsed, CalibrationPoint point, int index) => point with
    {
        EmissivityFraction = parsed.GetResult(_emissivity) is null
            ? (Math.Abs(point.ReferenceCelsius) <= Rule.IceBathWithinKelvin ? IceEmissivity : TapeEmissivity)
            : parsed.GetValue(_emissivity)![index],
        SurroundingsCelsius = parsed.GetValue(_surroundings),
    };

    private static int Fail(InvocationConfiguration io, string reason, int code)
    {
        io.Error.WriteLine($"not calibrated: {reason}");
        return code;
    }
}
