using System.Security.Claims;
using PavementWatch.Core.Agreement;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;

namespace PavementWatch.Dashboards.Checks;

/// <summary>Hand-held checks: entered, imported, listed, compared. The server keeps them.</summary>
public interface ISpotChecks
{
    /// <summary>Every spot that can be checked, in the business's order.</summary>
    IReadOnlyList<Spot> Spots();

    /// <summary>Keeps a check that passes <see cref="SpotCheckRules"/>.</summary>
    /// <returns>Whether it was new; the very same one is kept once.</returns>
    Task<bool> AddAsync(SpotCheck check, ClaimsPrincipal by, CancellationToken cancellationToken);

    /// <summary>Takes over a file, all of it or nothing.</summary>
    Task<CheckImport> ImportAsync(TextReader file, SpotId? spot, ClaimsPrincipal? by, CancellationToken cancellationToken);

    /// <summary>The newest checks, newest first.</summary>
    Task<IReadOnlyList<SpotCheck>> NewestAsync(SpotId? spot, int most, CancellationToken cancellationToken);

    /// <summary>Writes every check as CSV, as <see cref="ImportAsync"/> reads it.</summary>
    /// <returns>How many.</returns>
    Task<int> ExportAsync(TextWriter writer, SpotId? spot, CancellationToken cancellationToken);

    /// <summary>Holds a spot's sensor, and the fit that was in use at each check, against the checks.</summary>
    /// <returns>The comparison; <c>null</c> for a spot that is not known.</returns>
    Task<SpotAgreement?> CompareAsync(SpotId spot, CancellationToken cancellationToken);
}

/// <summary>What became of a file of checks.</summary>
public abstract record CheckImport
{
    private protected CheckImport()
    {
    }
}

/// <summary>The file is in.</summary>
/// <param name="Read">Checks read.</param>
/// <param name="Added">Those that were new.</param>
/// <param name="Remarks">What was mended on the way, in plain sentences.</param>
public sealed record ImportedChecks(int Read, int Added, IReadOnlyList<string> Remarks) : CheckImport;

/// <summary>Nothing of the file was taken.</summary>
/// <param name="Fault">Line, column, what was found, what was expected and the remedy.</param>
public sealed record RefusedChecks(string Fault) : CheckImport;

/// <summary>A spot's checks against its sensor and its offset.</summary>
/// <param name="Spot">The spot.</param>
/// <param name="Checks">Every check, oldest first.</param>
/// <param name="Sensor">The sensor against the checks.</param>
/// <param name="Estimate">The estimate without the sensor against the checks.</param>
/// <param name="Verdict">What that says.</param>
/// <param name="Thresholds">What was asked for.</param>
public sealed record SpotAgreement(
    Spot Spot,
    IReadOnlyList<ComparedCheck> Checks,
    MethodComparison Sensor,
    MethodComparison Estimate,
    SpotVerdict Verdict,
    AgreementThresholds Thresholds)
{
    /// <summary>How often the 90 % interval held the check; <c>null</c> without one.</summary>
    public IntervalCoverage? Coverage { get; init; }

    /// <summary>How to put the sensor right; <c>null</c> when it is not the sensor that is off.</summary>
    public Recalibration? Recalibration { get; init; }
}

/// <summary>One method against the checks.</summary>
/// <param name="Pairs">What was compared.</param>
/// <param name="Agreement">The figures; <c>null</c> for too few pairs.</param>
/// <param name="Verdict">In words.</param>
public sealed record MethodComparison(
    IReadOnlyList<ComparedPair> Pairs, MethodAgreement? Agreement, AgreementVerdict Verdict);

/// <summary>One check and what the product said at that moment.</summary>
/// <param name="Check">The check.</param>
/// <param name="ReferenceCelsius">[°C] The surface by the thermometer, put right for its emissivity setting.</param>
public sealed record ComparedCheck(SpotCheck Check, double ReferenceCelsius)
{
    /// <summary>[°C] The sensor within five minutes; <c>null</c> when it gave nothing good.</summary>
    public double? SensorCelsius { get; init; }

    /// <summary>[°C] Estimate of the fit that was in use then, without any surface reading; <c>null</c> when no air was known.</summary>
    public double? EstimateCelsius { get; init; }

    /// <summary>[°C] Lower end of its 90 % interval.</summary>
    public double? LowerCelsius { get; init; }

    /// <summary>[°C] Upper end.</summary>
    public double? UpperCelsius { get; init; }

    /// <summary>Whether the estimate is judged by it: not on wet ground, of which the offset is told nothing.</summary>
    public bool JudgesEstimate => EstimateCelsius is not null && Check.Ground != CheckedGround.Wet;
}
