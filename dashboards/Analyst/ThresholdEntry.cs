using System.Globalization;
using PavementWatch.Core.Agreement;
using PavementWatch.Dashboards.Setup;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>What the analyst asks of checks, as typed into a form.</summary>
internal static class ThresholdEntry
{
    private const int MostPairs = 1000;

    /// <summary>Reads a form.</summary>
    /// <param name="typed">What stands in a field of that name.</param>
    /// <returns>What is asked, or why it cannot be read, in a plain sentence.</returns>
    public static (AgreementThresholds? Asked, string? Fault) Read(Func<string, string?> typed)
    {
        double Number(string name) => SetupText.Number(typed(name)) ?? double.NaN;
        try
        {
            return (new AgreementThresholds
            {
                MostBiasKelvin = Number("bias"),
                MostDifferenceKelvin = Number("limit"),
                LeastPairs = Number("pairs") is >= 0 and <= MostPairs and var pairs && double.IsInteger(pairs) ? (int)pairs : 0,
                LeastSpanKelvin = Number("span"),
            }, null);
        }
        catch (ArgumentOutOfRangeException e)
        {
            return (null, e.ParamName switch
            {
                nameof(AgreementThresholds.MostBiasKelvin) => $"Largest bias is “{typed("bias")}”, expected a number over 0.",
                nameof(AgreementThresholds.MostDifferenceKelvin) => $"Furthest limit is “{typed("limit")}”, expected a number over 0.",
                nameof(AgreementThresholds.LeastPairs) => $"Fewest checks is “{typed("pairs")}”, expected {BlandAltman.LeastPairs} to {MostPairs}, a whole number.",
                _ => $"Span is “{typed("span")}”, expected a number over 0.",
            });
        }
    }

    /// <summary>A number as it stands in the form.</summary>
    public static string Text(double value) => value.ToString("0.##", CultureInfo.InvariantCulture);
}
