using System.Globalization;

namespace PavementWatch.Dashboards.Analyst;

/// <summary>Residuals taken together in steps of something, for the tables below the plots.</summary>
/// <param name="From">Beginning of the step.</param>
/// <param name="To">Its end.</param>
/// <param name="Count">Residuals in it.</param>
/// <param name="MeanKelvin">[K] Their mean; the bias.</param>
/// <param name="RmseKelvin">[K] Root of their mean square.</param>
internal sealed record ResidualBin(double From, double To, int Count, double MeanKelvin, double RmseKelvin)
{
    /// <summary>The step in words, e.g. <c>3 to 6</c>.</summary>
    public string Span => From == To
        ? From.ToString("0.#", CultureInfo.InvariantCulture)
        : string.Create(CultureInfo.InvariantCulture, $"{From:0.#} to {To:0.#}");

    /// <summary>Bins of one width, those without a residual left out.</summary>
    public static IReadOnlyList<ResidualBin> Of(IEnumerable<(double X, double ResidualKelvin)> points, double width) =>
        [.. points.GroupBy(p => width > 0 ? Math.Floor(p.X / width) : p.X).OrderBy(g => g.Key).Select(g => new ResidualBin(
            width > 0 ? g.Key * width : g.Key,
            width > 0 ? (g.Key + 1) * width : g.Key,
            g.Count(),
            g.Average(p => p.ResidualKelvin),
            Math.Sqrt(g.Average(p => p.ResidualKelvin * p.ResidualKelvin))))];
}
