using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Statistics;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Sampling;

/// <summary>
/// Gathers one spot's samples over an interval and draws them together into a reading. Has no clock: it is told the
/// moments.
/// </summary>
/// <param name="spot">Which spot.</param>
/// <param name="options">Its emissivity and limit.</param>
/// <param name="sampling">The period of the samples and the interval of the readings.</param>
internal sealed class SpotSampler(SpotId spot, SpotOptions options, SamplingOptions sampling)
{
    private const int EarlySamples = 3;
    private const double BelowLimitKelvin = 0.5;
    private const int LeastForSpread = 3;
    private static readonly TimeSpan AirStaysKnown = TimeSpan.FromMinutes(10);

    private SurfacePlausibility _judge = new(options.Effusivity());
    private SpotOptions _options = options;
    private readonly List<double> _surface = [];
    private readonly List<double> _raw = [];
    private readonly List<double> _body = [];
    private readonly List<double> _air = [];
    private readonly List<double> _humidity = [];
    private readonly List<double> _light = [];
    private readonly List<double> _supply = [];
    private readonly Queue<(DateTimeOffset At, double Celsius)> _latest = new(EarlySamples + 1);
    private int _taken;
    private int _asked;
    private int _failedCheck;
    private int _outOfRange;
    private (DateTimeOffset At, double Celsius)? _knownAir;
    private (DateTimeOffset At, double Percent)? _knownHumidity;
    private DateTimeOffset _lastReadingAt = DateTimeOffset.MinValue;
    private bool _aboveLimit;

    /// <summary>Goes on by other settings. A limit alone touches nothing that was measured; what else changes begins the interval and its memories anew.</summary>
    public void Use(SpotOptions changed)
    {
        if (changed with { LimitCelsius = _options.LimitCelsius } != _options)
        {
            Clear();
            _latest.Clear();
            _judge = new SurfacePlausibility(changed.Effusivity());
        }

        _options = changed;
    }

    /// <summary>Takes what belongs to this spot out of a round of samples.</summary>
    /// <param name="at">When they were taken.</param>
    /// <param name="samples">The round; a spot's own air, light or supply probe goes before one for all spots.</param>
    public void Take(DateTimeOffset at, IReadOnlyList<ProbeSample> samples)
    {
        _taken++;
        if (Of(samples, v => v.AirCelsius) is { } air)
        {
            _knownAir = (at, air);
            _air.Add(air);
        }

        if (Of(samples, v => v.HumidityPercent) is { } humidity)
        {
            _knownHumidity = (at, humidity);
            _humidity.Add(humidity);
        }

        AddTo(_light, Of(samples, v => v.LightLux));
        AddTo(_supply, Of(samples, v => v.SupplyVolts));
        // An infrared sensor first; a thermometer touching the surface speaks where there is none.
        var surface = samples.FirstOrDefault(s => s.Spot == spot && s.Kind == ProbeKind.Mlx90614)
            ?? samples.FirstOrDefault(s => s.Spot == spot && ProbeKinds.IsSurface(s.Kind));
        if (surface is not null)
            TakeSurface(at, surface);
    }

    /// <summary>A reading in between, when the spot has just passed its limit.</summary>
    /// <param name="now">The moment.</param>
    /// <returns>The reading over the last few samples, or <c>null</c>.</returns>
    public Reading? Early(DateTimeOffset now)
    {
        if (_aboveLimit || now <= _lastReadingAt || _latest.Count < EarlySamples
            || now - _latest.Peek().At > EarlySamples * 2 * sampling.Period)
            return null;
        var last = _latest.Select(s => s.Celsius).ToArray();
        if (Robust.Median(last) < _options.LimitCelsius)
            return null;

        _aboveLimit = true;
        var summary = Summary(now, last, _raw);
        return Finish(now, summary, _judge.Glance(summary));
    }

    /// <summary>Ends the interval.</summary>
    /// <param name="end">Its end, later than that of the reading before.</param>
    /// <returns>The reading; <c>null</c> when nothing was sampled.</returns>
    public Reading? Close(DateTimeOffset end)
    {
        Reading? reading = null;
        if (_taken > 0 && end > _lastReadingAt)
        {
            SurfaceSummary? summary = null;
            var doubt = Doubt.None;
            if (_surface.Count > 0)
            {
                summary = Summary(end, [.. _surface], _raw);
                doubt = _judge.Close(summary, _options.LimitCelsius);
                _aboveLimit = summary.CentreCelsius >= (_aboveLimit ? _options.LimitCelsius - BelowLimitKelvin : _options.LimitCelsius);
            }

            reading = Finish(end, summary, doubt | Counted(), SpreadKelvin());
        }

        Clear();
        return reading;
    }

    private void TakeSurface(DateTimeOffset at, ProbeSample sample)
    {
        _asked++;
        switch (sample.Outcome)
        {
            case ReadOutcome.Measured { Values: { ApparentCelsius: { } apparent, SensorCelsius: { } body } }:
                _body.Add(body);
                Keep(at, apparent, GreyBody.SurfaceCelsius(apparent, Reflected(at, body, sample.Band), _options.Emissivity(), sample.Band));
                break;
            case ReadOutcome.Measured { Values.ContactCelsius: { } contact }:
                Keep(at, contact, contact);
                break;
            case ReadOutcome.Rejected { Reason: RejectReason.CheckByte or RejectReason.ErrorFlag }:
                _failedCheck++;
                break;
            case ReadOutcome.Rejected { Reason: RejectReason.OutOfRange }:
                _outOfRange++;
                break;
        }
    }

    /// <summary>[°C] What the surface reflects; by the sensor's own body where no air is known.</summary>
    private double Reflected(DateTimeOffset at, double body, InfraredBand band)
    {
        // What a faulty air probe or a hot housing says beyond any air is no reason to stop.
        var range = QuantityRanges.Air;
        var air = Math.Clamp(Known(_knownAir, at) ?? body, range.Least, range.Most);
        double? vapour = Known(_knownHumidity, at) is { } humidity
            ? VapourPressure.Hectopascals(air, Math.Clamp(humidity, 0, 100))
            : null;
        return ReflectedSky.Celsius(band, air, vapour, _options.OpenSkyFraction);
    }

    /// <summary>What was last measured, while it is not too old.</summary>
    private static double? Known((DateTimeOffset At, double Value)? last, DateTimeOffset at) =>
        last is { } known && at - known.At <= AirStaysKnown ? known.Value : null;

    private void Keep(DateTimeOffset at, double raw, double surface)
    {
        _raw.Add(raw);
        _surface.Add(surface);
        _latest.Enqueue((at, surface));
        if (_latest.Count > EarlySamples)
            _latest.Dequeue();
    }

    private SurfaceSummary Summary(DateTimeOffset end, double[] surface, List<double> raw) => new(
        end,
        Robust.HuberCentre(surface),
        Robust.MedianAbsoluteDeviation(surface),
        raw.Count > 0 ? raw.Min() : double.NaN,
        raw.Count > 0 ? raw.Max() : double.NaN,
        Middle(_body),
        Known(_knownAir, end));

    private Doubt Counted()
    {
        if (_asked == 0)
            return Doubt.None;
        var doubt = Doubt.None;
        if (_surface.Count < Math.Max(1, sampling.Interval / sampling.Period / 2))
            doubt |= Doubt.FewSamples;
        if (_failedCheck > _asked / 4.0)
            doubt |= Doubt.CheckByte;
        if (_outOfRange > _asked / 4.0)
            doubt |= Doubt.OutOfRange;
        return doubt;
    }

    /// <summary>[K] Of all samples of the interval: what the centre leaves out may be how the ground is, in flickering shade.</summary>
    private double? SpreadKelvin()
    {
        if (_surface.Count < LeastForSpread)
            return null;
        var mean = _surface.Average();
        var deviation = Math.Sqrt(_surface.Sum(celsius => (celsius - mean) * (celsius - mean)) / (_surface.Count - 1));
        return Math.Min(deviation, QuantityRanges.Spread.Most);
    }

    private Reading Finish(DateTimeOffset at, SurfaceSummary? surface, Doubt doubt, double? spreadKelvin = null)
    {
        var reading = ReadingRange.WithSoundCompanions(new Reading(spot, at)
        {
            SurfaceCelsius = Rounded(surface?.CentreCelsius),
            SensorCelsius = Rounded(Middle(_body)),
            AirCelsius = Rounded(Middle(_air)),
            HumidityPercent = Rounded(Middle(_humidity)),
            LightLux = Rounded(Middle(_light)),
            SupplyVolts = Rounded(Middle(_supply)),
            SpreadKelvin = Rounded(spreadKelvin),
        });
        if (ReadingRange.FirstFault(reading) is not null)
            doubt |= Doubt.OutOfRange;
        _lastReadingAt = at;
        var noSurface = _asked > 0 && reading.SurfaceCelsius is null;
        return reading with
        {
            Doubt = doubt,
            Quality = noSurface || doubt.HasFlag(Doubt.OutOfRange) ? ReadingQuality.Rejected
                : doubt == Doubt.None ? ReadingQuality.Good
                : ReadingQuality.Suspect,
        };
    }

    private void Clear()
    {
        foreach (var list in (List<double>[])[_surface, _raw, _body, _air, _humidity, _light, _supply])
            list.Clear();
        _taken = _asked = _failedCheck = _outOfRange = 0;
    }

    private double? Of(IReadOnlyList<ProbeSample> samples, Func<ProbeValues, double?> pick)
    {
        double? shared = null;
        foreach (var sample in samples)
        {
            if (sample.Outcome is not ReadOutcome.Measured { Values: var values } || pick(values) is not { } value)
                continue;
            if (sample.Spot == spot)
                return value;
            if (sample.Spot is null)
                shared ??= value;
        }

        return shared;
    }

    private static void AddTo(List<double> list, double? value)
    {
        if (value is { } v)
            list.Add(v);
    }

    private static double? Middle(List<double> values) =>
        values.Count == 0 ? null : Robust.Median(System.Runtime.InteropServices.CollectionsMarshal.AsSpan(values));

    // A thousandth is a tenth of what any of the sensors resolves.
    private static double? Rounded(double? value) => value is { } v ? Math.Round(v, 3) : null;
}
