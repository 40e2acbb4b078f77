using PavementWatch.Core.Weather;

namespace PavementWatch.Core.Offsets;

/// <summary>How large a spot's errors are at each hour of true solar time, learnt as the days go by.</summary>
internal sealed class ErrorScale
{
    /// <summary>[standard deviations] Errors beyond are a sensor's, not a surface's: they count as ones of this size, or not at all.</summary>
    public const double WildestSigmas = 4;

    private const int Hours = 24;
    private const double PriorCount = 20;
    private const double FadePerDay = 0.93;
    private const double WidthHours = 1.5;
    private const double LeastKelvin = 0.15;

    // Mean absolute error to standard deviation of normal errors.
    private const double ToSigma = 1.2533;

    private static readonly double[][] Shares = MakeShares();

    private readonly double[] _sums = new double[Hours];
    private readonly double[] _counts = new double[Hours];
    private readonly double[] _sigma = new double[Hours];

    /// <param name="priorNightKelvin">[K] Mean absolute error at night before anything is known.</param>
    /// <param name="priorNoonKelvin">[K] Mean absolute error at noon before anything is known.</param>
    public ErrorScale(double priorNightKelvin, double priorNoonKelvin)
    {
        for (var h = 0; h < Hours; h++)
        {
            var day = Math.Max(0, -Math.Cos(2 * Math.PI * (h + 0.5) / Hours));
            _counts[h] = PriorCount;
            _sums[h] = PriorCount * (priorNightKelvin + day * (priorNoonKelvin - priorNightKelvin));
        }

        Smooth();
    }

    /// <summary>[K] One standard deviation at the middle of each solar hour.</summary>
    public IReadOnlyList<double> SigmaKelvin => [.. _sigma];

    /// <summary>[K] One standard deviation at a solar hour, from values at the middle of each.</summary>
    public static double At(IReadOnlyList<double> sigma, double solarHour)
    {
        var place = solarHour - 0.5 + Hours;
        var low = (int)place;
        return sigma[low % Hours] + (place - low) * (sigma[(low + 1) % Hours] - sigma[low % Hours]);
    }

    public double At(double solarHour) => At(_sigma, solarHour);

    /// <summary>Learns a day's errors; a wild one counts as the wildest that is believed.</summary>
    public void Learn(WeatherGrid grid, double[] errors, int from, int to)
    {
        for (var h = 0; h < Hours; h++)
        {
            _sums[h] *= FadePerDay;
            _counts[h] *= FadePerDay;
        }

        for (var i = from; i < to; i++)
        {
            if (double.IsNaN(errors[i]))
                continue;
            var hour = (int)grid.SolarHour[i] % Hours;
            _sums[hour] += Math.Min(Math.Abs(errors[i]), WildestSigmas * At(grid.SolarHour[i])) * grid.StepMinutes / 30;
            _counts[hour] += grid.StepMinutes / 30.0;
        }

        Smooth();
    }

    private void Smooth()
    {
        for (var h = 0; h < Hours; h++)
        {
            double sum = 0;
            double count = 0;
            for (var g = 0; g < Hours; g++)
            {
                sum += Shares[h][g] * _sums[g];
                count += Shares[h][g] * _counts[g];
            }

            _sigma[h] = Math.Max(LeastKelvin, ToSigma * sum / count);
        }
    }

    private static double[][] MakeShares()
    {
        var shares = new double[Hours][];
        for (var h = 0; h < Hours; h++)
        {
            shares[h] = new double[Hours];
            for (var g = 0; g < Hours; g++)
            {
                var away = Math.Min(Math.Abs(h - g), Hours - Math.Abs(h - g)) / WidthHours;
                shares[h][g] = Math.Exp(-0.5 * away * away);
            }
        }

        return shares;
    }
}
