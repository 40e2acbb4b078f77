using System.Globalization;
using PavementWatch.Core.Calibration;
using PavementWatch.Gateway.Sensors;

namespace PavementWatch.Gateway.Sizing;

/// <summary>Compares an infrared sensor with a contact thermometer at one target after the other, led by a person.</summary>
/// <param name="bench">The probes.</param>
/// <param name="probe">Name of the infrared sensor.</param>
/// <param name="thermometer">Name of the contact thermometer.</param>
/// <param name="time">How long each target is measured.</param>
/// <param name="input">Where the person presses Enter.</param>
/// <param name="output">Where the person reads.</param>
internal sealed class CalibrationSession(
    CalibrationBench bench, string probe, string thermometer, TimeSpan time, TextReader input, TextWriter output)
{
    private static readonly TimeSpan Period = TimeSpan.FromSeconds(5);
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(30);
    private static readonly TimeSpan ProgressEvery = TimeSpan.FromMinutes(1);

    /// <summary>Measures one target.</summary>
    /// <param name="target">What to put the sensors to, for the person.</param>
    /// <param name="cancellationToken">Stops it.</param>
    /// <returns>The point, or why there is none.</returns>
    public async Task<(CalibrationPoint? Point, string? Fault)> MeasureAsync(string target, CancellationToken cancellationToken)
    {
        await output.WriteLineAsync($"Put {thermometer} and {probe} to the {target}, wait until both have settled, press Enter.");
        if (await input.ReadLineAsync(cancellationToken) is null)
            return (null, "nobody pressed Enter; run it in a terminal");

        List<CalibrationSample> samples = [];
        string? lastFault = null;
        using var timer = new PeriodicTimer(Period, bench.Clock);
        for (var left = time; left > TimeSpan.Zero; left -= Period)
        {
            await timer.WaitForNextTickAsync(cancellationToken);
            if (Sample(out lastFault) is { } sample)
                samples.Add(sample);
            if (samples.Count == 0 && time - left >= Patience)
                break;
            if ((left - Period).Ticks % ProgressEvery.Ticks == 0 && left > Period)
                await output.WriteLineAsync(Say($"  {(left - Period).TotalMinutes:0} min to go, {samples.Count} pairs of samples"));
        }

        if (CalibrationSeries.Point(samples, out var point) is { } refused)
            return (null, $"{target}: {refused.Reason}" + (lastFault is null ? "" : $" ({lastFault})"));
        await output.WriteLineAsync(Say(
            $"  {point!.SampleCount} pairs: thermometer {point.ReferenceCelsius:0.00} °C, infrared {point.MeasuredCelsius:0.00} °C"));
        return (point, null);
    }

    private CalibrationSample? Sample(out string? fault)
    {
        var now = bench.Clock.GetUtcNow();
        var round = bench.Probes.SampleAll(now);
        var reference = Value(round, thermometer, v => v.ContactCelsius, out fault);
        var apparent = Value(round, probe, v => v.ApparentCelsius, out var probeFault);
        fault ??= probeFault;
        var present = bench.Present(probe);
        return reference is { } r && apparent is { } a
            ? new CalibrationSample(now, r, (a - present.OffsetKelvin) / present.Gain)
            : null;
    }

    private static double? Value(
        IReadOnlyList<ProbeSample> round, string name, Func<ProbeValues, double?> pick, out string? fault)
    {
        var outcome = round.First(s => s.Probe == name).Outcome;
        fault = (outcome as ReadOutcome.Rejected)?.Detail;
        return outcome is ReadOutcome.Measured { Values: var values } ? pick(values) : null;
    }

    private static string Say(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
