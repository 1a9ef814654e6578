using MathNet.Numerics.LinearAlgebra;

namespace WashBridge.Analysis.Statistics;

/// <summary>
/// Linear least squares by QR of columns scaled to length one, with the solution refined by residuals in doubled precision (Bjorck 1967).
/// Reaches the certified digits of the NIST StRD sets as far as doubles hold the data.
/// </summary>
public sealed record LeastSquares
{
    /// <summary>In the order of the columns.</summary>
    public required IReadOnlyList<double> Coefficients { get; init; }

    public required IReadOnlyList<double> StandardErrors { get; init; }

    /// <summary>Root of the residual sum of squares over the degrees of freedom; 0 where there are none.</summary>
    public required double ResidualDeviation { get; init; }

    public required int DegreesOfFreedom { get; init; }

    /// <summary>1 less the residual over the total sum of squares about the mean.</summary>
    public required double RSquared { get; init; }

    /// <param name="columns">The design by column; a constant is a column of ones.</param>
    /// <param name="y">As long as each column.</param>
    /// <exception cref="ArgumentException">Lengths differ, fewer rows than columns, or columns that depend on one another.</exception>
    public static LeastSquares Fit(IReadOnlyList<IReadOnlyList<double>> columns, IReadOnlyList<double> y)
    {
        ArgumentNullException.ThrowIfNull(columns);
        ArgumentNullException.ThrowIfNull(y);
        Check(columns, y);
        var scales = columns.Select(c => Math.Sqrt(c.Sum(v => v * v))).ToArray();
        if (scales.Any(s => s == 0))
        {
            throw new ArgumentException("a column of zeros says nothing: leave it out.", nameof(columns));
        }

        var design = Matrix<double>.Build.Dense(y.Count, columns.Count, (i, j) => columns[j][i] / scales[j]);
        var qr = design.QR(MathNet.Numerics.LinearAlgebra.Factorization.QRMethod.Thin);
        if (Enumerable.Range(0, columns.Count).Any(j => Math.Abs(qr.R[j, j]) < 1e-15))
        {
            throw new ArgumentException("the columns depend on one another: leave one of them out.", nameof(columns));
        }

        var solution = Vector<double>.Build.Dense(columns.Count);
        for (var round = 0; round < 8; round++)
        {
            solution += qr.Solve(Vector<double>.Build.Dense(Residuals(design, solution, y)));
        }

        return Describe(columns, y, design, qr.R, solution, scales);
    }

    /// <summary>A straight line: coefficients are intercept and slope.</summary>
    public static LeastSquares Line(IReadOnlyList<double> x, IReadOnlyList<double> y)
    {
        ArgumentNullException.ThrowIfNull(x);
        return Fit([Enumerable.Repeat(1.0, x.Count).ToArray(), x], y);
    }

    private static LeastSquares Describe(
        IReadOnlyList<IReadOnlyList<double>> columns, IReadOnlyList<double> y, Matrix<double> design, Matrix<double> r, Vector<double> solution, double[] scales)
    {
        var residual = Residuals(design, solution, y).Sum(v => v * v);
        var mean = y.Average();
        var total = y.Sum(v => (v - mean) * (v - mean));
        var freedom = y.Count - columns.Count;
        var deviation = freedom > 0 ? Math.Sqrt(residual / freedom) : 0;
        var inverse = r.Inverse();
        return new LeastSquares
        {
            Coefficients = solution.Select((b, j) => b / scales[j]).ToArray(),
            StandardErrors = Enumerable.Range(0, scales.Length).Select(j => deviation * inverse.Row(j).L2Norm() / scales[j]).ToArray(),
            ResidualDeviation = deviation,
            DegreesOfFreedom = freedom,
            RSquared = total > 0 ? 1 - (residual / total) : 0,
        };
    }

    private static void Check(IReadOnlyList<IReadOnlyList<double>> columns, IReadOnlyList<double> y)
    {
        if (columns.Count == 0 || y.Count < columns.Count)
        {
            throw new ArgumentException($"{columns.Count} columns and {y.Count} rows: at least one column is needed, and as many rows as columns.", nameof(columns));
        }

        if (columns.FirstOrDefault(c => c.Count != y.Count) is { } odd)
        {
            throw new ArgumentException($"a column of {odd.Count} values beside {y.Count} of y: all must be as long.", nameof(columns));
        }
    }

    private static double[] Residuals(Matrix<double> design, Vector<double> solution, IReadOnlyList<double> y)
    {
        var residuals = new double[y.Count];
        for (var i = 0; i < residuals.Length; i++)
        {
            var (high, low) = (y[i], 0.0);
            for (var j = 0; j < solution.Count; j++)
            {
                // The product and the sum without their rounding errors (Dekker 1971; Knuth 1969).
                var product = -design[i, j] * solution[j];
                var productError = Math.FusedMultiplyAdd(-design[i, j], solution[j], -product);
                var sum = high + product;
                var part = sum - high;
                low += (high - (sum - part)) + (product - part) + productError;
                high = sum;
            }

            residuals[i] = high + low;
        }

        return residuals;
    }
}
