namespace PavementWatch.Dashboards.Texts;

/// <summary>News of several spots of a site in one message.</summary>
public static class SiteTexts
{
    /// <summary>Of so many spots a message says more than the title does, unless it has to be shorter.</summary>
    public const int MostBodies = 6;

    private const int MostNames = 3;

    /// <summary>The first line, e.g. <c>North Gate: plaza and steps too hot; Orchard Green is comfortable</c>.</summary>
    /// <param name="site">The site's name.</param>
    /// <param name="news">Each spot's name and what its news is, as <see cref="AlertTexts.What"/> says it, the most pressing first.</param>
    /// <param name="comfortable">Names of comfortable spots; may be none.</param>
    /// <returns>No sentence.</returns>
    public static string Title(string site, IReadOnlyList<(string Spot, string What)> news, IReadOnlyList<string> comfortable)
    {
        ArgumentNullException.ThrowIfNull(comfortable);
        var title = $"{site}: {Together(site, news)}";
        return comfortable.Count == 0 ? title
            : $"{title}; {Names([.. comfortable.Select(name => Short(site, name))])} {(comfortable.Count == 1 ? "is" : "are")} comfortable";
    }

    /// <summary>What the title does not say, a line for each spot.</summary>
    /// <param name="site">The site's name.</param>
    /// <param name="news">Each spot's name and the body of its own message.</param>
    /// <param name="asBefore">See <see cref="AsBefore"/>.</param>
    /// <param name="most">Lines for spots, at most.</param>
    /// <returns>Plain sentences.</returns>
    public static string Body(
        string site, IReadOnlyList<(string Spot, string Body)> news, IReadOnlyList<(string Spot, string What)> asBefore, int most = MostBodies)
    {
        ArgumentNullException.ThrowIfNull(news);
        var lines = news.Take(most).Select(n => $"{Capital(Short(site, n.Spot))}: {n.Body}");
        if (most == 0)
            lines = lines.Append($"{news.Count} spots. Open this to see each.");
        else if (news.Count > most)
            lines = lines.Append($"And {news.Count - most} more spots.");
        if (AsBefore(site, asBefore) is { Length: > 0 } before)
            lines = lines.Append(before);
        return string.Join('\n', lines);
    }

    /// <summary>What was told before and still stands at other spots, e.g. <c>As before: plaza and steps too hot.</c></summary>
    /// <param name="site">The site's name.</param>
    /// <param name="standing">Each spot's name and what stands there; may be none.</param>
    /// <returns>One sentence, or nothing.</returns>
    public static string AsBefore(string site, IReadOnlyList<(string Spot, string What)> standing)
    {
        ArgumentNullException.ThrowIfNull(standing);
        return standing.Count == 0 ? "" : $"As before: {Together(site, standing)}.";
    }

    private static string Together(string site, IReadOnlyList<(string Spot, string What)> spots) => string.Join(
        "; ", spots.GroupBy(s => s.What).Select(same => $"{Names([.. same.Select(s => Short(site, s.Spot)).Distinct()])} {same.Key}"));

    /// <summary>Names in a sentence, e.g. <c>plaza, steps and 4 more</c>.</summary>
    /// <param name="names">One or more.</param>
    /// <param name="most">Where there are more, the rest is counted.</param>
    public static string Names(IReadOnlyList<string> names, int most = MostNames)
    {
        ArgumentNullException.ThrowIfNull(names);
        return names.Count == 1 ? names[0]
            : names.Count > most ? $"{string.Join(", ", names.Take(most - 1))} and {names.Count - most + 1} more"
            : $"{string.Join(", ", names.SkipLast(1))} and {names[^1]}";
    }

    // Who reads the site's name need not read it again with each spot.
    private static string Short(string site, string spot) =>
        spot.Length > site.Length + 1 && spot.StartsWith($"{site} ", StringComparison.Ordinal) ? spot[(site.Length + 1)..] : spot;

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];
}
