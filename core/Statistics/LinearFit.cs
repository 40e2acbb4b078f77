namespace PavementWatch.Core.Statistics;

/// <summary>What a linear regression gives: either a fit or the reason why there is none.</summary>
public abstract record LinearOutcome
{
    private protected LinearOutcome()
    {
    }
}

/// <summary>There is no fit: too few rows, or columns that are multiples of one another.</summary>
/// <param name="Reason">What was found and what was expected.</param>
public sealed record NotEnough(string Reason) : LinearOutcome;

/// <summary>A fitted linear regression.</summary>
/// <param name="Coefficients">One for each column, in the columns' order, in units of y per unit of the column.</param>
/// <param name="StandardErrors">Of the coefficients, in their units; NaN when there are as many columns as rows.</param>
/// <param name="Residuals">y minus fitted value, for each row, in units of y.</param>
/// <param name="Weights">Of each row, 0 to 1; all 1 for plain least squares.</param>
/// <param name="ResidualScale">
/// In units of y: residual standard deviation (n − p) for least squares, median absolute residual over 0.6745 for Huber.
/// </param>
public sealed record LinearFit(
    IReadOnlyList<double> Coefficients,
    IReadOnlyList<double> StandardErrors,
    IReadOnlyList<double> Residuals,
    IReadOnlyList<double> Weights,
    double ResidualScale) : LinearOutcome;
