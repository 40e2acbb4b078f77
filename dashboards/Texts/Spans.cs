namespace PavementWatch.Dashboards.Texts;

/// <summary>Ages and spans as people read them. <c>wwwroot/js/text.js</c> says the same in the browser; a test holds them together.</summary>
internal static class Spans
{
    /// <summary>How long ago, e.g. <c>2 min ago</c>; rounded down, a negative age is <c>just now</c>.</summary>
    public static string Ago(TimeSpan age) => age.TotalSeconds switch
    {
        < 10 => "just now",
        < 60 => $"{Math.Floor(age.TotalSeconds / 10) * 10:0} s ago",
        < 86_400 => $"{Length(age)} ago",
        < 172_800 => "1 day ago",
        _ => $"{Math.Floor(age.TotalDays):0} days ago",
    };

    /// <summary>A span to the minute, e.g. <c>6 h 23 min</c>; rounded down.</summary>
    public static string Length(TimeSpan span)
    {
        var minutes = (long)Math.Floor(span.TotalMinutes);
        return (minutes / 60, minutes % 60) switch
        {
            (0, var m) => $"{m} min",
            (var h, 0) => $"{h} h",
            var (h, m) => $"{h} h {m} min",
        };
    }

    /// <summary>After how long skin is hurt, rounded down to a step one can count; empty when unknown. No permission: it says nothing of a shorter touch.</summary>
    public static string Hurt(TimeSpan? contact) => contact?.TotalSeconds switch
    {
        null or double.NaN => "",
        >= 600 => "not hot enough to hurt skin within 10 min",
        >= 120 and var s => $"skin is hurt after about {Math.Floor(s / 60):0} min",
        >= 90 => "skin is hurt after about 1 min 30 s",
        >= 60 => "skin is hurt after about 1 min",
        >= 10 and var s => $"skin is hurt after about {Math.Floor(s / 5) * 5:0} s",
        >= 1 and var s => $"skin is hurt after about {Math.Floor(s):0} s",
        _ => "skin is hurt at once",
    };
}
