namespace PavementWatch.Core.Agreement;

/// <summary>The regularised incomplete beta function I_x(a, b).</summary>
/// <remarks>
/// Source: continued fraction, Abramowitz and Stegun 1964, 26.5.8, evaluated from the front after Lentz 1976; ln Γ after
/// Lanczos 1964 with g = 7 and nine terms, coefficients from memory, held against Γ(½) = √π by the tests of
/// <see cref="StudentT"/>.
/// </remarks>
internal static class IncompleteBeta
{
    private static readonly double[] Lanczos =
    [
        0.99999999999980993, 676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059,
        12.507343278686905, -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7,
    ];

    public static double Regularised(double x, double a, double b)
    {
        if (x <= 0)
            return 0;
        if (x >= 1)
            return 1;

        var front = Math.Exp(LogGamma(a + b) - LogGamma(a) - LogGamma(b) + (a * Math.Log(x)) + (b * Math.Log(1 - x)));

        // The fraction converges fast on one side of the mean; the other side is its mirror.
        return x < (a + 1) / (a + b + 2)
            ? front * Fraction(x, a, b) / a
            : 1 - (front * Fraction(1 - x, b, a) / b);
    }

    private static double Fraction(double x, double a, double b)
    {
        const double tiny = 1e-300;
        var c = 1.0;
        var d = 1 / NotZero(1 - ((a + b) * x / (a + 1)));
        var value = d;
        for (var m = 1; m <= 10_000; m++)
        {
            var even = m * (b - m) * x / ((a + (2 * m) - 1) * (a + (2 * m)));
            d = 1 / NotZero(1 + (even * d));
            c = NotZero(1 + (even / c));
            value *= d * c;

            var odd = -(a + m) * (a + b + m) * x / ((a + (2 * m)) * (a + (2 * m) + 1));
            d = 1 / NotZero(1 + (odd * d));
            c = NotZero(1 + (odd / c));
            value *= d * c;
            if (Math.Abs((d * c) - 1) < 1e-15)
                break;
        }

        return value;

        static double NotZero(double term) => Math.Abs(term) < tiny ? tiny : term;
    }

    private static double LogGamma(double x)
    {
        if (x < 0.5)
            return Math.Log(Math.PI / Math.Sin(Math.PI * x)) - LogGamma(1 - x);

        var shifted = x - 1;
        var sum = Lanczos[0];
        for (var i = 1; i < Lanczos.Length; i++)
            sum += Lanczos[i] / (shifted + i);
        var t = shifted + 7.5;
        return (0.5 * Math.Log(2 * Math.PI)) + ((shifted + 0.5) * Math.Log(t)) - t + Math.Log(sum);
    }
}
