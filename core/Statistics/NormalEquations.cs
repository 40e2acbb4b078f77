using System.Numerics;

namespace PavementWatch.Core.Statistics;

/// <summary>
/// Weighted sums of products from which a ridge regression is solved. Sums of days can be added and faded, so that a
/// fit for every past night costs one pass over the rows.
/// </summary>
internal sealed class NormalEquations(int size)
{
    // Lower triangle, row by row in full rows.
    private readonly double[] _products = new double[size * size];
    private readonly double[] _right = new double[size];

    public int Size => size;

    /// <summary>Sum of weights.</summary>
    public double Weight { get; private set; }

    public void Clear()
    {
        Weight = 0;
        Array.Clear(_products);
        Array.Clear(_right);
    }

    /// <summary>Adds rows, four at a time: the sums are larger than the nearest cache, so each pass over them must pay.</summary>
    public void Add(ReadOnlySpan<double[]> rows, ReadOnlySpan<double> y, ReadOnlySpan<double> weights)
    {
        var i = 0;
        for (; i + 4 <= rows.Length; i += 4)
        {
            var (a, b, c, d) = (rows[i], rows[i + 1], rows[i + 2], rows[i + 3]);
            Weight += weights[i] + weights[i + 1] + weights[i + 2] + weights[i + 3];
            for (var j = 0; j < size; j++)
            {
                var (wa, wb) = (weights[i] * a[j], weights[i + 1] * b[j]);
                var (wc, wd) = (weights[i + 2] * c[j], weights[i + 3] * d[j]);
                _right[j] += wa * y[i] + wb * y[i + 1] + wc * y[i + 2] + wd * y[i + 3];
                var line = _products.AsSpan(j * size, j + 1);
                var k = 0;
                for (; k + Vector<double>.Count <= line.Length; k += Vector<double>.Count)
                {
                    var sum = new Vector<double>(line[k..])
                        + wa * new Vector<double>(a, k) + wb * new Vector<double>(b, k)
                        + wc * new Vector<double>(c, k) + wd * new Vector<double>(d, k);
                    sum.CopyTo(line[k..]);
                }

                for (; k < line.Length; k++)
                    line[k] += wa * a[k] + wb * b[k] + wc * c[k] + wd * d[k];
            }
        }

        for (; i < rows.Length; i++)
        {
            Weight += weights[i];
            for (var j = 0; j < size; j++)
            {
                var scaled = weights[i] * rows[i][j];
                _right[j] += scaled * y[i];
                AddScaled(_products.AsSpan(j * size, j + 1), rows[i].AsSpan(0, j + 1), scaled);
            }
        }
    }

    /// <summary>Keeps a share of what was summed, then adds another sum.</summary>
    public void FadeAndAdd(double share, NormalEquations other)
    {
        Weight = share * Weight + other.Weight;
        FadeAndAdd(_products, share, other._products);
        FadeAndAdd(_right, share, other._right);
    }

    /// <summary>Minimises the weighted squares plus penalties · (coefficient − prior)².</summary>
    /// <param name="penalties">More than 0 each, in samples.</param>
    /// <param name="prior">Where the penalties draw to.</param>
    /// <param name="scratch">At least size² long; overwritten.</param>
    public double[] Solve(ReadOnlySpan<double> penalties, ReadOnlySpan<double> prior, double[] scratch)
    {
        var lower = scratch;
        _products.CopyTo(lower, 0);
        var solution = new double[size];
        for (var j = 0; j < size; j++)
        {
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
            solution[j] /= lower[j * size + j];
            AddScaled(solution.AsSpan(0, j), lower.AsSpan(j * size, j), -solution[j]);
        }

        return solution;
    }

    public static double Dot(ReadOnlySpan<double> a, ReadOnlySpan<double> b)
    {
        var sums = Vector<double>.Zero;
        var i = 0;
        for (; i + Vector<double>.Count <= a.Length; i += Vector<double>.Count)
            sums += new Vector<double>(a[i..]) * new Vector<double>(b[i..]);
        var sum = Vector.Sum(sums);
        for (; i < a.Length; i++)
            sum += a[i] * b[i];
        return sum;
    }

    private static void AddScaled(Span<double> target, ReadOnlySpan<double> source, double factor)
    {
        var i = 0;
        for (; i + Vector<double>.Count <= target.Length; i += Vector<double>.Count)
            (new Vector<double>(target[i..]) + factor * new Vector<double>(source[i..])).CopyTo(target[i..]);
        for (; i < target.Length; i++)
            target[i] += factor * source[i];
    }

    private static void FadeAndAdd(double[] target, double share, double[] source)
    {
        var i = 0;
        for (; i + Vector<double>.Count <= target.Length; i += Vector<double>.Count)
            (share * new Vector<double>(target, i) + new Vector<double>(source, i)).CopyTo(target, i);
        for (; i < target.Length; i++)
            target[i] = share * target[i] + source[i];
    }
}
