using System.Globalization;

namespace PavementWatch.Tests;

/// <summary>Compares with a number that stands outside the project, and names its source when it fails.</summary>
internal static class Published
{
    public static void Near(double expected, double actual, double tolerance, string source)
    {
        if (!(Math.Abs(expected - actual) <= tolerance))
        {
            Assert.Fail(string.Create(CultureInfo.InvariantCulture,
                $"expected {expected:R} within {tolerance:R}, got {actual:R}. Source: {source}"));
        }
    }
}
