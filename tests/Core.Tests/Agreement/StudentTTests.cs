using CsCheck;
using PavementWatch.Core.Agreement;
using PavementWatch.Tests;

namespace PavementWatch.Core.Tests.Agreement;

public class StudentTTests
{
    private const string Table = "t table, from memory";

    [Theory]
    //          share  freedom quantile      tolerance
    [InlineData(0.975, 1, 12.706205, 5e-7, Table)]
    [InlineData(0.975, 2, 4.302653, 5e-7, Table)]
    [InlineData(0.975, 5, 2.570582, 5e-7, Table)]
    [InlineData(0.975, 10, 2.228139, 5e-7, Table)]
    [InlineData(0.95, 10, 1.812461, 5e-7, Table)]
    [InlineData(0.995, 10, 3.169273, 5e-7, Table)]
    [InlineData(0.975, 16, 2.12, 5e-3, "Bland and Altman 1986, who print 2.12")]
    [InlineData(0.975, 30, 2.042272, 5e-7, Table)]
    [InlineData(0.975, 120, 1.979930, 5e-7, Table)]
    [InlineData(0.975, 1e7, 1.959964, 5e-6, "quantile of the normal distribution, from memory")]
    [InlineData(0.5, 7, 0, 1e-15, "By definition: symmetric about 0")]
    public void Quantiles_agree_with_tables(double share, double freedom, double quantile, double tolerance, string source)
    {
        Published.Near(quantile, StudentT.Quantile(share, freedom), tolerance, source);
        Published.Near(-quantile, StudentT.Quantile(1 - share, freedom), tolerance * 2, source + ", mirrored");
    }

    [Fact]
    public void One_degree_of_freedom_is_Cauchys_distribution() =>
        Gen.Double[0.001, 0.999].Sample(p => Published.Near(
            1, Relative(StudentT.Quantile(p, 1), Math.Tan(Math.PI * (p - 0.5))), 1e-9, "By definition: tan(pi (p - 1/2))"));

    [Fact]
    public void Two_degrees_of_freedom_have_a_closed_form() =>
        Gen.Double[0.001, 0.999].Sample(p => Published.Near(
            1, Relative(StudentT.Quantile(p, 2), ((2 * p) - 1) * Math.Sqrt(2 / (4 * p * (1 - p)))), 1e-9,
            "By definition: (2p - 1) sqrt(2 / (4 p (1 - p)))"));

    // Close to one half the share hangs on t squared beside the degrees of freedom, where a double has ten digits left
    // (0.5001043876 at 336 degrees came back 1.9e-11 off).
    [Fact]
    public void The_quantile_leads_back_to_its_share() =>
        Gen.Select(Gen.Double[0.0001, 0.9999], Gen.Double[0.5, 400]).Sample((p, freedom) => Published.Near(
            p, StudentT.Cumulative(StudentT.Quantile(p, freedom), freedom), 1e-9, "By definition: the inverse"), iter: 1000);

    [Theory]
    [InlineData(0, 5)]
    [InlineData(1, 5)]
    [InlineData(double.NaN, 5)]
    [InlineData(0.9, 0.4)]
    [InlineData(0.9, 0)]
    [InlineData(0.9, double.NaN)]
    [InlineData(0.9, double.PositiveInfinity)]
    public void Values_out_of_range_are_refused(double share, double freedom) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => StudentT.Quantile(share, freedom));

    [Theory]
    [InlineData(1e-12, 0.5)]
    [InlineData(1 - 1e-12, 3)]
    public void Values_at_the_edges_are_taken(double share, double freedom) =>
        Assert.True(double.IsFinite(StudentT.Quantile(share, freedom)));

    // Close to one half by how far it is off, see above; further out by the share.
    private static double Relative(double found, double expected) =>
        Math.Abs(expected) < 0.1 ? 1 + (found - expected) : found / expected;
}
