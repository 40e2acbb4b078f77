namespace PavementWatch.Gateway.Checks;

/// <summary>One thing the gateway depends on, tried for real.</summary>
internal interface ICheck
{
    /// <summary>Tries it.</summary>
    /// <returns>A finding a thing looked at.</returns>
    Task<IReadOnlyList<Finding>> RunAsync(CancellationToken cancellationToken);
}

/// <summary>How a thing was found.</summary>
internal enum Verdict
{
    /// <summary>It does not work.</summary>
    Failed = 0,

    /// <summary>It works, but something should be looked at.</summary>
    Doubtful,

    /// <summary>It was not tried, and why.</summary>
    NotTried,

    /// <summary>It works.</summary>
    Good,
}

/// <summary>What was found of one thing.</summary>
/// <param name="Verdict">How it is.</param>
/// <param name="What">The thing, e.g. <c>probe plaza-ir</c>.</param>
/// <param name="Detail">What was seen.</param>
/// <param name="Remedy">What to do; empty when nothing is to be done.</param>
internal sealed record Finding(Verdict Verdict, string What, string Detail, string Remedy = "")
{
    public override string ToString()
    {
        var word = Verdict switch
        {
            Verdict.Good => "ok",
            Verdict.Doubtful => "look",
            Verdict.NotTried => "-",
            _ => "FAIL",
        };
        return $"{word,-5}{What}: {Detail}{(Remedy.Length > 0 ? $". To do: {Remedy}" : "")}";
    }
}
