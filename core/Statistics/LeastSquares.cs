namespace PavementWatch.Core.Statistics;

/// <summary>Ordinary and weighted linear least squares.</summary>
/// <remarks>
/// Householder orthogonalisation (Golub and Van Loan, Matrix Computations, 4th ed., 2013, section 5.3), which keeps
/// the digits that normal equations lose: NIST's Longley problem comes out with more than nine.
/// </remarks>
public static class LeastSquares
{
    // A diagonal this small against its column means that rounding alone is left of the column.
    private const double RankTolerance = 1e-12;

    /// <summary>Fits y by the columns.</summary>
    /// <param name="columns">The columns of the design, each as long as <paramref name="y"/>; an intercept is a column of ones.</param>
    /// <param name="y">What is to be explained.</param>
    /// <param name="weights">Weight of each row, finite and at least 0; <c>null</c> weighs all alike.</param>
    /// <returns>A <see cref="LinearFit"/>, or <see cref="NotEnough"/> when the rows do not settle every coefficient.</returns>
    /// <exception cref="ArgumentException">Lengths differ, or a value is not finite, or a weight is negative.</exception>
    public static LinearOutcome Fit(
        IReadOnlyList<double[]> columns, IReadOnlyList<double> y, IReadOnlyList<double>? weights = null)
    {
        ArgumentNullException.ThrowIfNull(columns);
        ArgumentNullException.ThrowIfNull(y);
        Check(columns, y, weights);
        var n = y.Count;
        var p = columns.Count;
        if (p == 0 || n < p)
            return new NotEnough($"{n} rows for {p} columns; expected at least one column and as many rows as columns");

        var root = new double[n];
        for (var i = 0; i < n; i++)
            root[i] = weights is null ? 1 : Math.Sqrt(weights[i]);
        var q = new double[p][];
        for (var j = 0; j < p; j++)
        {
            q[j] = new double[n];
            for (var i = 0; i < n; i++)
                q[j][i] = columns[j][i] * root[i];
        }

        var rhs = new double[n];
        for (var i = 0; i < n; i++)
            rhs[i] = y[i] * root[i];

        var diagonal = new double[p];
        for (var j = 0; j < p; j++)
        {
            var whole = Norm(q[j], 0);
            var norm = Norm(q[j], j);
            if (!(norm > RankTolerance * whole))
                return new NotEnough($"column {j} is a multiple of the columns before it, or zero");
            diagonal[j] = Reflect(q, j, norm, rhs);
        }

        var beta = new double[p];
        for (var j = p - 1; j >= 0; j--)
        {
            var sum = rhs[j];
            for (var k = j + 1; k < p; k++)
                sum -= q[k][j] * beta[k];
            beta[j] = sum / diagonal[j];
        }

        var residuals = new double[n];
        double squares = 0;
        for (var i = 0; i < n; i++)
        {
            var fitted = 0.0;
            for (var j = 0; j < p; j++)
                fitted += columns[j][i] * beta[j];
            residuals[i] = y[i] - fitted;
            squares += (weights?[i] ?? 1) * residuals[i] * residuals[i];
        }

        var scale = n > p ? Math.Sqrt(squares / (n - p)) : double.NaN;
        var errors = UnscaledErrors(q, diagonal);
        for (var j = 0; j < p; j++)
            errors[j] *= scale;
        return new LinearFit(beta, errors, residuals, weights?.ToArray() ?? Enumerable.Repeat(1.0, n).ToArray(), scale);
    }

    /// <summary>Square roots of the diagonal of the inverse of XᵀX, from the triangle above <paramref name="diagonal"/>.</summary>
    private static double[] UnscaledErrors(double[][] upper, double[] diagonal)
    {
        var p = diagonal.Length;
        var errors = new double[p];
        // Row r of the inverse of R; its squared length is the diagonal of (RᵀR)⁻¹.
        for (var r = 0; r < p; r++)
        {
            var row = new double[p];
            row[r] = 1 / diagonal[r];
            for (var c = r + 1; c < p; c++)
            {
                var sum = 0.0;
                for (var k = r; k < c; k++)
                    sum -= row[k] * upper[c][k];
                row[c] = sum / diagonal[c];
            }

            errors[r] = Norm(row, r);
        }

        return errors;
    }

    /// <summary>Reflects column j onto its axis, and the columns after it and the right side with it.</summary>
    /// <returns>The diagonal element.</returns>
    private static double Reflect(double[][] q, int j, double norm, double[] rhs)
    {
        var v = q[j];
        var alpha = v[j] > 0 ? -norm : norm;
        v[j] -= alpha;
        var half = 0.0;
        for (var i = j; i < v.Length; i++)
            half += v[i] * v[i];
        half /= 2;
        for (var k = j + 1; k < q.Length; k++)
            Subtract(v, q[k], j, half);
        Subtract(v, rhs, j, half);
        return alpha;
    }

    private static void Subtract(double[] v, double[] target, int from, double half)
    {
        var dot = 0.0;
        for (var i = from; i < v.Length; i++)
            dot += v[i] * target[i];
        var factor = dot / half;
        for (var i = from; i < v.Length; i++)
            target[i] -= factor * v[i];
    }

    private static double Norm(double[] values, int from)
    {
        var sum = 0.0;
        for (var i = from; i < values.Length; i++)
            sum += values[i] * values[i];
        return Math.Sqrt(sum);
    }

    private static void Check(IReadOnlyList<double[]> columns, IReadOnlyList<double> y, IReadOnlyList<double>? weights)
    {
        for (var j = 0; j < columns.Count; j++)
        {
            if (columns[j].Length != y.Count)
                throw new ArgumentException($"column {j} has {columns[j].Length} rows, expected {y.Count}", nameof(columns));
            if (!Array.TrueForAll(columns[j], double.IsFinite))
                throw new ArgumentException($"column {j} holds a value that is not finite", nameof(columns));
        }

        if (!y.All(double.IsFinite))
            throw new ArgumentException("y holds a value that is not finite", nameof(y));
        if (weights is null)
            return;
        if (weights.Count != y.Count)
            throw new ArgumentException($"{weights.Count} weights, expected {y.Count}", nameof(weights));
        if (!weights.All(w => double.IsFinite(w) && w >= 0))
            throw new ArgumentException("a weight is negative or not finite", nameof(weights));
    }
}
