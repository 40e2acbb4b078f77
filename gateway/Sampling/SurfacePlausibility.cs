using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Gateway.Sampling;

/// <summary>One interval's surface samples, drawn together.</summary>
/// <param name="End">End of the interval.</param>
/// <param name="CentreCelsius">[°C] Their robust centre, corrected.</param>
/// <param name="SpreadKelvin">[K] Their robust spread, like a standard deviation.</param>
/// <param name="LeastRawCelsius">[°C] Least value as the sensor gave it.</param>
/// <param name="MostRawCelsius">[°C] Largest value as the sensor gave it.</param>
/// <param name="SensorCelsius">[°C] The infrared sensor's own body, if it is one.</param>
/// <param name="AirCelsius">[°C] The air, if measured.</param>
internal sealed record SurfaceSummary(
    DateTimeOffset End, double CentreCelsius, double SpreadKelvin, double LeastRawCelsius, double MostRawCelsius,
    double? SensorCelsius, double? AirCelsius);

/// <summary>Looks at each interval of a spot in turn and says what is doubtful about it.</summary>
/// <param name="effusivity">[W·s^½/(m²·K)] Of the surface, its low end; more than 0.</param>
internal sealed class SurfacePlausibility(double effusivity)
{
    /// <summary>[W/m²] What sun and wind together can add or take at most: full sun. Common practice, no source.</summary>
    public const double MostFluxWattsPerSquareMeter = 1000;

    /// <summary>[K] Spread within an interval above which it is doubtful. Common practice, no source.</summary>
    public const double MostSpreadKelvin = 3;

    /// <summary>[K/min] Change of the sensor's body above which its optics lag. Common practice, no source.</summary>
    public const double MostBodyKelvinPerMinute = 1;

    /// <summary>[K] Sensor's body over air above which the sun is heating it. Common practice, no source.</summary>
    public const double MostBodyOverAirKelvin = 15;

    /// <summary>How long the value of a thermometer that touches the ground may stay the same to the last digit, which is 1/16 K.</summary>
    public static readonly TimeSpan LongestStill = TimeSpan.FromMinutes(30);

    /// <summary>The same of an infrared sensor, whose own noise is more than its last digit. Our choice.</summary>
    public static readonly TimeSpan LongestInfraredStill = TimeSpan.FromMinutes(5);

    /// <summary>How long a surface that fell too fast is doubted on top of the time it needs to cool so far: most vans are gone then. Our choice.</summary>
    public static readonly TimeSpan FallDoubted = TimeSpan.FromHours(1);

    private const int AgreeingToBelieve = 3;
    private const double AgreeingKelvin = 3;

    // Asphalt on a clear evening. Computed ourselves, see AllClear.
    private const double CoolingKelvinPerHour = 6;
    private static readonly TimeSpan Memory = TimeSpan.FromMinutes(5);
    private static readonly TimeSpan LongestCooling = TimeSpan.FromDays(1);

    private (DateTimeOffset At, double Celsius)? _level;
    private (double Celsius, int Count)? _jumped;
    private (DateTimeOffset At, double Celsius)? _beforeJump;
    private (DateTimeOffset At, double Celsius)? _fellFrom;
    private (DateTimeOffset Since, double Celsius)? _still;
    private (DateTimeOffset At, double Celsius)? _body;

    /// <summary>The largest change a surface can make in a time: that of a thick body under a sudden constant flux.</summary>
    /// <remarks>
    /// ΔT = 2 q √(t/π) / e. Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, section 2.9, constant flux
    /// into a semi-infinite solid at its surface; from memory.
    /// </remarks>
    /// <param name="time">More than zero.</param>
    /// <returns>[K] More than 0.</returns>
    public double MostChangeKelvin(TimeSpan time) =>
        StepHeating.RiseKelvin(MostFluxWattsPerSquareMeter, effusivity, time);

    /// <summary>Judges an interval that is over, and remembers it.</summary>
    /// <param name="summary">It.</param>
    /// <param name="limitCelsius">[°C] From here the spot is too hot; no fall that ends there is doubted, for a warning does not wait.</param>
    public Doubt Close(SurfaceSummary summary, double limitCelsius)
    {
        var doubt = Passing(summary) | Moving(summary, limitCelsius);
        if (Still(summary))
            doubt |= Doubt.Stuck;
        if (summary.SensorCelsius is { } body)
            _body = (summary.End, body);
        return doubt;
    }

    /// <summary>Judges part of an interval that is at the limit, for a reading sent early; remembers nothing.</summary>
    public Doubt Glance(SurfaceSummary summary) =>
        Passing(summary) | (Jumps(summary) && summary.CentreCelsius > _level?.Celsius ? Doubt.Spike : Doubt.None);

    private Doubt Moving(SurfaceSummary summary, double limitCelsius)
    {
        var (centre, isHot) = (summary.CentreCelsius, summary.CentreCelsius >= limitCelsius);
        if (_fellFrom is null && !isHot && Jumps(summary) && centre < _level?.Celsius && !IsBackBeforeJump(summary))
            _fellFrom = _level;
        if (_fellFrom is { } from)
        {
            // What fell faster than ground can is not believed for having held: a roof, the sky or a drop of water is seen for as long.
            var passed = summary.End - from.At;
            if (!isHot && centre < from.Celsius - AgreeingKelvin - (CoolingKelvinPerHour * passed.TotalHours) && passed < TimeToCool(from.Celsius - centre) + FallDoubted)
                return Doubt.Spike;
            _fellFrom = null;
            Settle(summary);
            return Doubt.None;
        }

        if (Jumps(summary) && centre > _level?.Celsius)
        {
            // Hotter, it is believed once it has held: the sensor was turned, or somebody swept the leaves away.
            var count = _jumped is { } j && Math.Abs(centre - j.Celsius) <= AgreeingKelvin ? j.Count + 1 : 1;
            if (count < AgreeingToBelieve)
            {
                _jumped = (centre, count);
                return Doubt.Spike;
            }

            _beforeJump = _level;
        }

        Settle(summary);
        return Doubt.None;
    }

    // What jumped up may fall back.
    private bool IsBackBeforeJump(SurfaceSummary summary) => _beforeJump is { } before
        && summary.End - before.At <= FallDoubted && summary.CentreCelsius >= before.Celsius - AgreeingKelvin;

    /// <summary><see cref="MostChangeKelvin"/> turned round.</summary>
    private TimeSpan TimeToCool(double kelvin) => kelvin < MostChangeKelvin(LongestCooling)
        ? StepHeating.TimeToRise(kelvin, MostFluxWattsPerSquareMeter, effusivity)
        : LongestCooling;

    private Doubt Passing(SurfaceSummary summary)
    {
        var doubt = summary.SpreadKelvin > MostSpreadKelvin ? Doubt.Spike : Doubt.None;
        if (summary.SensorCelsius is not { } body)
            return doubt;
        var heating = summary.AirCelsius is { } air && body - air > MostBodyOverAirKelvin;
        if (_body is { } before && summary.End > before.At && summary.End - before.At <= Memory)
        {
            var minutes = Math.Max(1, (summary.End - before.At).TotalMinutes);
            heating |= Math.Abs(body - before.Celsius) > MostBodyKelvinPerMinute * minutes;
        }

        return heating ? doubt | Doubt.SensorHeating : doubt;
    }

    private bool Jumps(SurfaceSummary summary)
    {
        if (_level is not { } level || summary.End <= level.At || summary.End - level.At > Memory)
            return false;
        // A centre may stand for a sample at either end of its interval: allow for one minute more than between the ends.
        var time = summary.End - level.At + TimeSpan.FromMinutes(1);
        return Math.Abs(summary.CentreCelsius - level.Celsius) > MostChangeKelvin(time);
    }

    private void Settle(SurfaceSummary summary)
    {
        _level = (summary.End, summary.CentreCelsius);
        _jumped = null;
    }

    private bool Still(SurfaceSummary summary)
    {
        if (summary.LeastRawCelsius != summary.MostRawCelsius)
        {
            _still = null;
            return false;
        }

        if (_still is not { } still || still.Celsius != summary.LeastRawCelsius)
            _still = still = (summary.End, summary.LeastRawCelsius);
        return summary.End - still.Since >= (summary.SensorCelsius is null ? LongestStill : LongestInfraredStill);
    }
}
