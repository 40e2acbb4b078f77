using System.Text.RegularExpressions;

namespace PavementWatch.Dashboards.Texts;

/// <summary>Keeps a number and its unit on one line.</summary>
internal static partial class NonBreakingUnits
{
    /// <summary>The same text with spaces that do not break between a digit and a unit.</summary>
    public static string Of(string text) => BeforeUnit().Replace(text, "\u00a0");

    [GeneratedRegex(@"(?<=\d) (?=(°[CF]|h|min|s)\b)")]
    private static partial Regex BeforeUnit();
}
