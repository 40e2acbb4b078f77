using PavementWatch.Core.Surfaces;

namespace PavementWatch.Core.Offsets;

/// <summary>What the offset is a linear function of, for every step of a grid.</summary>
internal static class OffsetFeatures
{
    private const int Harmonics = 4;

    /// <summary>How many features a set of inputs has.</summary>
    public static int Count(OffsetInputs inputs) => Penalties(inputs).Length;

    /// <summary>How strongly each feature is drawn to its prior, in samples; the first feature is the prior itself.</summary>
    public static double[] Penalties(OffsetInputs inputs)
    {
        var list = new List<double> { 10, 1, 5, 5, 5 };
        for (var k = 1; k <= Harmonics; k++)
            list.AddRange([2 * k, 2 * k]);
        list.AddRange([5, 5, 5, 5, 5, 5, 5]);
        if (inputs.HasFlag(OffsetInputs.Humidity))
            list.AddRange([5, 5, 5, 5]);
        if (inputs.HasFlag(OffsetInputs.Wind))
            list.AddRange([5, 5]);
        if (inputs.HasFlag(OffsetInputs.Solar))
            list.AddRange([2, 2, 2]);
        return [.. list];
    }

    /// <summary>The coefficients of the handbook prior: the prior itself counts once, all else nothing.</summary>
    public static double[] PriorCoefficients(OffsetInputs inputs)
    {
        var coefficients = new double[Count(inputs)];
        coefficients[0] = 1;
        return coefficients;
    }

    /// <summary>Features of every step.</summary>
    /// <returns>For each step its features, or <c>null</c> where an input is missing.</returns>
    public static double[]?[] Of(WeatherGrid grid, Spot spot, OffsetInputs inputs)
    {
        var ground = HandbookPrior.Of(spot.Surface);
        var useSolar = inputs.HasFlag(OffsetInputs.Solar);
        var sun = useSolar ? grid.Solar : grid.Clear;
        var quick = Lagged(sun, grid, ground.LagHours);
        var medium = Lagged(sun, grid, 3);
        var slow = Lagged(sun, grid, HandbookPrior.SlowHours);
        var day = 24 * 60 / grid.StepMinutes;
        var rows = new double[]?[grid.Count];
        var count = Count(inputs);
        for (var i = 0; i < grid.Count; i++)
        {
            var humid = inputs.HasFlag(OffsetInputs.Humidity);
            var windy = inputs.HasFlag(OffsetInputs.Wind);
            if (double.IsNaN(grid.Air[i]) || (humid && double.IsNaN(grid.Vapour[i]))
                || (windy && double.IsNaN(grid.Wind[i])) || (useSolar && double.IsNaN(grid.Solar[i])))
                continue;
            var row = new double[count];
            var n = 0;
            var air = grid.Air[i];
            double sum = 0;
            var known = 0;
            var least = air;
            var most = air;
            for (var j = Math.Max(0, i - day + 1); j <= i; j++)
            {
                if (double.IsNaN(grid.Air[j]))
                    continue;
                sum += grid.Air[j];
                known++;
                least = Math.Min(least, grid.Air[j]);
                most = Math.Max(most, grid.Air[j]);
            }

            var bright = grid.Clear[i] / 1000;
            var away = (air - sum / known) / 5;
            var hour = air - Back(grid, i, 1);
            var three = (air - Back(grid, i, 3)) / 2;
            row[n++] = HandbookPrior.OffsetKelvin(ground, quick[i], slow[i], windy ? grid.Wind[i] : null);
            row[n++] = 1;
            row[n++] = sun[i] / 500;
            row[n++] = medium[i] / 500;
            row[n++] = slow[i] / 500;
            for (var k = 1; k <= Harmonics; k++)
            {
                var (sin, cos) = Math.SinCos(2 * Math.PI * k * grid.SolarHour[i] / 24);
                row[n++] = sin;
                row[n++] = cos;
            }

            row[n++] = away;
            row[n++] = away * bright * 2;
            row[n++] = hour;
            row[n++] = hour * bright * 2;
            row[n++] = three;
            row[n++] = three * bright * 2;
            row[n++] = (most - least - 10) / 5 * bright * 2;
            if (humid)
            {
                var share = grid.Vapour[i] / WeatherGrid.SaturationKilopascals(air) * 4 - 2.5;
                row[n++] = share;
                row[n++] = share * bright * 2;
                row[n++] = grid.Vapour[i] - 1.2;
                row[n++] = (grid.Vapour[i] - 1.2) * bright * 2;
            }

            if (windy)
            {
                row[n++] = Math.Sqrt(grid.Wind[i]) - 1.5;
                row[n++] = (Math.Sqrt(grid.Wind[i]) - 1.5) * sun[i] / 500;
            }

            if (useSolar)
            {
                row[n++] = bright * 2;
                row[n++] = quick[i] / 500;
                row[n++] = sun[i] / 500 * bright;
            }

            rows[i] = row;
        }

        return rows;
    }

    private static double Back(WeatherGrid grid, int index, int hours)
    {
        var before = index - hours * 60 / grid.StepMinutes;
        return before >= 0 && !double.IsNaN(grid.Air[before]) ? grid.Air[before] : grid.Air[index];
    }

    /// <summary>Exponentially lagged sun; begins with the day's mean so that a short history does not look like night.</summary>
    private static double[] Lagged(double[] sun, WeatherGrid grid, double hours)
    {
        var keep = Math.Exp(-grid.StepMinutes / 60.0 / hours);
        var first = Math.Min(sun.Length, 24 * 60 / grid.StepMinutes);
        double value = 0;
        var known = 0;
        for (var i = 0; i < first; i++)
        {
            if (double.IsNaN(sun[i]))
                continue;
            value += sun[i];
            known++;
        }

        value = known > 0 ? value / known : 0;
        var lagged = new double[sun.Length];
        for (var i = 0; i < sun.Length; i++)
        {
            if (!double.IsNaN(sun[i]))
                value = keep * value + (1 - keep) * sun[i];
            lagged[i] = value;
        }

        return lagged;
    }
}
