using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Gateway.Buses;
using PavementWatch.Gateway.Sampling;
using PavementWatch.Gateway.Sensors;
using PavementWatch.Gateway.Spots;

namespace PavementWatch.Gateway.Tests.Sampling;

/// <summary>A spot's samples told as a script: each minute from what the sensors gave.</summary>
internal sealed class SpotScript
{
    public static readonly SpotId Plaza = SpotId.Parse("plaza");
    private static readonly DateTimeOffset Start = new(2025, 7, 14, 18, 0, 0, TimeSpan.Zero);

    private readonly SpotSampler _sampler;
    private readonly double _emissivity;
    private readonly double _openSky;

    public SpotScript(double emissivity = 1, double openSky = 0, double limit = 49)
    {
        _emissivity = emissivity;
        _openSky = openSky;
        _sampler = new SpotSampler(
            Plaza,
            new SpotOptions { EmissivityFraction = emissivity, OpenSkyFraction = openSky, LimitCelsius = limit },
            new SamplingOptions());
    }

    public DateTimeOffset Now { get; private set; } = Start;

    public double Body { get; set; } = 32;

    public double Air { get; set; } = 30;

    public InfraredBand Band { get; set; }

    public double Humidity { get; set; } = 40;

    /// <summary>Whether the air probe answers.</summary>
    public bool AirAnswers { get; set; } = true;

    public List<Reading> EarlyOnes { get; } = [];

    public void Take(ReadOutcome surface)
    {
        _sampler.Take(Now,
        [
            new ProbeSample("ir", ProbeKind.Mlx90614, Plaza, Now, surface) { Band = Band },
            new ProbeSample("air", ProbeKind.Sht3x, null, Now,
                AirAnswers
                    ? new ReadOutcome.Measured(new ProbeValues { AirCelsius = Air, HumidityPercent = Humidity })
                    : new ReadOutcome.Rejected(RejectReason.NoAnswer, "as told")),
        ]);
        if (_sampler.Early(Now) is { } early)
            EarlyOnes.Add(early);
        Now += TimeSpan.FromSeconds(5);
    }

    public void Take(double surface) => Take(new ReadOutcome.Measured(new ProbeValues
    {
        ApparentCelsius = GreyBody.ApparentCelsius(surface, Reflected(), _emissivity, Band),
        SensorCelsius = Body,
    }));

    private double Reflected() => ReflectedSky.Celsius(Band, Math.Min(Air, 60), VapourPressure.Hectopascals(Math.Min(Air, 60), Math.Min(Humidity, 100)), _openSky);

    public void Refuse(RejectReason reason) => Take(new ReadOutcome.Rejected(reason, "as told"));

    public Reading? Close() => _sampler.Close(Now);

    /// <summary>A minute of twelve samples about a value, with the sensor's noise.</summary>
    public Reading Minute(double surface)
    {
        for (var i = 0; i < 12; i++)
            Take(surface + 0.02 * (i % 3 - 1));
        return Close()!;
    }
}
