using PavementWatch.Core.Offsets;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Weather;
using PavementWatch.Server.Store;

namespace PavementWatch.Server.Weather;

/// <summary>The last days of one spot in memory, in steps of ten minutes. Not safe for several threads.</summary>
internal sealed class WeatherRing
{
    private static readonly TimeSpan Reach = SpotEstimation.Reach;

    private static readonly long StepTicks = SpotWeather.Step.Ticks;
    private readonly Bin[] _bins = new Bin[(int)(Reach.Ticks / StepTicks) + 1];

    /// <summary>Takes a reading's good surface and sound air; those older than the ring are left out.</summary>
    public void Add(Reading reading)
    {
        if (!reading.HasSoundAir)
            return;
        var number = NumberOf(reading.MeasuredAt);
        ref var bin = ref _bins[number % _bins.Length];
        if (bin.Number > number)
            return;
        if (bin.Number < number)
            bin = new Bin { Number = number };
        if (reading.Quality == ReadingQuality.Good)
            bin.Surface.Add(reading.SurfaceCelsius);
        bin.Air.Add(reading.AirCelsius);
        bin.Humidity.Add(reading.HumidityPercent);
        if (reading.MeasuredAt > bin.Newest)
            bin.Newest = reading.MeasuredAt;
    }

    /// <summary>Takes a whole step, before any reading of it or of a later one.</summary>
    public void Add(ReadingStep step)
    {
        if (step is { SurfaceCelsius: null, AirCelsius: null, HumidityPercent: null })
            return;
        var (number, count) = (step.End.UtcTicks / StepTicks, Math.Max(1, step.GoodCount));
        _bins[number % _bins.Length] = new Bin
        {
            Number = number,
            Newest = step.End,
            Surface = RunningMean.Of(step.SurfaceCelsius, count),
            Air = RunningMean.Of(step.AirCelsius, count),
            Humidity = RunningMean.Of(step.HumidityPercent, count),
        };
    }

    /// <summary>The clock was set back: steps that lie ahead by it keep their age, where there is none of that time, and hold no place of what comes next.</summary>
    /// <param name="by">How far.</param>
    /// <param name="now">Now, by the clock as it is set.</param>
    public void ClockWasSetBack(TimeSpan by, DateTimeOffset now)
    {
        var current = NumberOf(now);
        List<Bin> ahead = [.. _bins.Where(b => b.Number > current)];
        for (var i = 0; i < _bins.Length; i++)
        {
            if (_bins[i].Number > current)
                _bins[i] = default;
        }

        foreach (var bin in ahead.OrderBy(b => b.Number))
        {
            var (number, newest) = (NumberOf(bin.Newest - by), bin.Newest - by);
            ref var there = ref _bins[number % _bins.Length];
            if (number <= current && number > there.Number)
                there = bin with { Number = number, Newest = newest };
        }
    }

    /// <summary>The clock was set back while nobody looked: each step is older than it says, also one that does not lie ahead.</summary>
    /// <param name="by">By how much.</param>
    public void Older(TimeSpan by)
    {
        var bins = _bins.Where(b => b.Number > 0).OrderBy(b => b.Number).ToList();
        Array.Clear(_bins);
        foreach (var bin in bins)
        {
            var (number, newest) = (NumberOf(bin.Newest - by), bin.Newest - by);
            ref var there = ref _bins[number % _bins.Length];
            if (number >= there.Number)
                there = bin with { Number = number, Newest = newest };
        }
    }

    /// <summary>Forgets every surface, and keeps the air.</summary>
    public void ForgetSurface()
    {
        for (var i = 0; i < _bins.Length; i++)
            _bins[i].Surface = default;
    }

    /// <summary>Whether it lacks air or humidity in more than one step of the reach, which may be under way: then it needs that of others.</summary>
    public bool LacksAir(DateTimeOffset now)
    {
        var (newest, whole) = (now.UtcTicks / StepTicks, 0);
        for (var number = newest - _bins.Length + 2; number <= newest + 1; number++)
        {
            ref readonly var bin = ref _bins[number % _bins.Length];
            if (bin.Number == number && bin.Air.Count > 0 && bin.Humidity.Count > 0)
                whole++;
        }

        return whole < _bins.Length - 1;
    }

    /// <summary>Adds its steps not older than the reach to samples, in time order; the last one ends with its newest reading. One without air, lent or own, is left out.</summary>
    /// <param name="samples">Where to.</param>
    /// <param name="now">UTC.</param>
    /// <param name="lent">Air and humidity for steps that have none of their own; <c>null</c> lends nothing.</param>
    /// <param name="place">Wind and sun; <c>null</c> where there are none.</param>
    public void AddTo(List<WeatherSample> samples, DateTimeOffset now, SiteAir? lent, WindAndSun? place)
    {
        var newest = now.UtcTicks / StepTicks;
        for (var number = newest - _bins.Length + 2; number <= newest + 1; number++)
        {
            ref readonly var bin = ref _bins[number % _bins.Length];
            var isOwn = bin.Number == number;
            var (ownAir, ownHumidity) = isOwn ? (bin.Air.Value, bin.Humidity.Value) : default;
            var others = lent is null || (ownAir is not null && ownHumidity is not null) ? default : lent.Of(number);
            if ((ownAir ?? others.AirCelsius) is not { } air)
                continue;
            // What the spot has of the step belongs to the same moment as what it is lent.
            var end = number <= newest ? new DateTimeOffset(number * StepTicks, TimeSpan.Zero) : isOwn ? bin.Newest : others.Newest;
            var (wind, sun) = place?.At(end) ?? default;
            samples.Add(new WeatherSample(end, air)
            {
                HumidityPercent = ownHumidity ?? others.HumidityPercent,
                WindMetersPerSecond = wind,
                SolarWattsPerSquareMeter = sun,
                SurfaceCelsius = isOwn ? bin.Surface.Value : null,
            });
        }
    }

    /// <summary>Adds what it has of the air to that of its site.</summary>
    public void AddAirTo(SiteAir air)
    {
        foreach (ref readonly var bin in _bins.AsSpan())
            air.Add(bin.Number, bin.Newest, bin.Air.Value, bin.Humidity.Value);
    }

    // The step that a moment belongs to ends with it or later.
    private static long NumberOf(DateTimeOffset at) => ((at.UtcTicks - 1) / StepTicks) + 1;

    private struct Bin
    {
        public long Number;
        public DateTimeOffset Newest;
        public RunningMean Surface;
        public RunningMean Air;
        public RunningMean Humidity;
    }
}
