namespace PavementWatch.Core.Statistics;

/// <summary>Weighted sums of products from which a ridge regression is solved; sums of days can be added and faded.</summary>
internal sealed class NormalEquations(int size)
{
    private readonly double[] _products = new double[size * size];
    private readonly double[] _right = new double[size];

    public int Size => size;

    /// <summary>Sum of weights.</summary>
    public double Weight { get; private set; }

    public void Add(ReadOnlySpan<double> row, double y, double weight)
    {
        Weight += weight;
        for (var j = 0; j < size; j++)
        {
            var scaled = weight * row[j];
            _right[j] += scaled * y;
            var products = _products.AsSpan(j * size, j + 1);
            for (var k = 0; k < products.Length; k++)
                products[k] += scaled * row[k];
        }
    }

    /// <summary>Adds another sum, faded.</summary>
    public void Add(NormalEquations other, double share)
    {
        Weight += share * other.Weight;
        for (var i = 0; i < _products.Length; i++)
            _products[i] += share * other._products[i];
        for (var i = 0; i < size; i++)
            _right[i] += share * other._right[i];
    }

    public void Fade(double share)
    {
        Weight *= share;
        for (var i = 0; i < _products.Length; i++)
            _products[i] *= share;
        for (var i = 0; i < size; i++)
            _right[i] *= share;
    }

    /// <summary>Minimises the weighted squares plus penalties · (coefficient − prior)².</summary>
    /// <param name="penalties">More than 0 each, in samples.</param>
    /// <param name="prior">Where the penalties draw to.</param>
    public double[] Solve(ReadOnlySpan<double> penalties, ReadOnlySpan<double> prior)
    {
        var lower = new double[size * size];
        var solution = new double[size];
        for (var j = 0; j < size; j++)
        {
            for (var k = 0; k <= j; k++)
                lower[j * size + k] = _products[j * size + k];
            lower[j * size + j] += penalties[j];
            solution[j] = _right[j] + penalties[j] * prior[j];
        }

        // Cholesky (Golub and Van Loan, Matrix Computations, 4th ed., 2013, section 4.2); the penalties keep it positive.
        for (var j = 0; j < size; j++)
        {
            var row = lower.AsSpan(j * size, j + 1);
            for (var k = 0; k < j; k++)
                row[k] = (row[k] - Dot(row[..k], lower.AsSpan(k * size, k))) / lower[k * size + k];
            row[j] = Math.Sqrt(row[j] - Dot(row[..j], row[..j]));
        }

        for (var j = 0; j < size; j++)
            solution[j] = (solution[j] - Dot(lower.AsSpan(j * size, j), solution.AsSpan(0, j))) / lower[j * size + j];
        for (var j = size - 1; j >= 0; j--)
        {
            for (var k = j + 1; k < size; k++)
                solution[j] -= lower[k * size + j] * solution[k];
            solution[j] /= lower[j * size + j];
        }

        return solution;
    }

    public static double Dot(ReadOnlySpan<double> a, ReadOnlySpan<double> b)
    {
        double sum = 0;
        for (var i = 0; i < a.Length; i++)
            sum += a[i] * b[i];
        return sum;
    }
}
