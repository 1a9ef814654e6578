using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Statistics;

/// <summary>Certified values: NIST Statistical Reference Datasets, linear regression.</summary>
public sealed class LeastSquaresTests
{
    [Fact]
    public void Norris_is_reached_to_its_certified_digits()
    {
        var rows = NistSet.Rows("Norris");
        var fit = LeastSquares.Line(NistSet.Column(rows, 1), NistSet.Column(rows, 0));
        Close(-0.262323073774029, fit.Coefficients[0], 1e-12);
        Close(1.00211681802045, fit.Coefficients[1], 1e-14);
        Close(0.232818234301152, fit.StandardErrors[0], 1e-12);
        Close(0.429796848199937E-03, fit.StandardErrors[1], 1e-12);
        Close(0.884796396144373, fit.ResidualDeviation, 1e-12);
        Close(0.999993745883712, fit.RSquared, 1e-14);
        Assert.Equal(34, fit.DegreesOfFreedom);
    }

    [Fact]
    public void Longley_is_reached_although_its_columns_nearly_depend_on_one_another()
    {
        var rows = NistSet.Rows("Longley");
        var fit = LeastSquares.Fit([.. Constant(rows.Length), .. Enumerable.Range(1, 6).Select(c => NistSet.Column(rows, c))], NistSet.Column(rows, 0));
        double[] certified =
        [
            -3482258.63459582, 15.0618722713733, -0.358191792925910E-01, -2.02022980381683, -1.03322686717359, -0.511041056535807E-01, 1829.15146461355,
        ];
        double[] errors =
        [
            890420.383607373, 84.9149257747669, 0.334910077722432E-01, 0.488399681651699, 0.214274163161675, 0.226073200069370, 455.478499142212,
        ];
        for (var i = 0; i < 7; i++)
        {
            Close(certified[i], fit.Coefficients[i], 1e-11);
            Close(errors[i], fit.StandardErrors[i], 1e-9);
        }

        Close(304.854073561965, fit.ResidualDeviation, 1e-11);
    }

    [Fact]
    public void Filip_is_reached_as_far_as_its_powers_fit_into_doubles()
    {
        var rows = NistSet.Rows("Filip");
        var x = NistSet.Column(rows, 1);
        var fit = LeastSquares.Fit([.. Enumerable.Range(0, 11).Select(p => x.Select(v => Math.Pow(v, p)).ToArray())], NistSet.Column(rows, 0));
        double[] certified =
        [
            -1467.48961422980, -2772.17959193342, -2316.37108160893, -1127.97394098372, -354.478233703349, -75.1242017393757,
            -10.8753180355343, -1.06221498588947, -0.670191154593408E-01, -0.246781078275479E-02, -0.402962525080404E-04,
        ];
        for (var i = 0; i < 11; i++)
        {
            // The tenth power of x is rounded to a double before any fit; the design's condition is about 1e15.
            Close(certified[i], fit.Coefficients[i], 1e-5);
        }

        Close(0.334801051324544E-02, fit.ResidualDeviation, 1e-7);
    }

    [Fact]
    public void Columns_that_depend_on_one_another_are_refused()
    {
        var error = Assert.Throws<ArgumentException>(() => LeastSquares.Fit([[1, 2, 3], [2, 4, 6]], [1, 2, 4]));
        Assert.Contains("depend on one another", error.Message);
    }

    [Fact]
    public void Fewer_rows_than_columns_are_refused() => Assert.Throws<ArgumentException>(() => LeastSquares.Fit([[1], [2]], [1]));

    private static double[][] Constant(int rows) => [Enumerable.Repeat(1.0, rows).ToArray()];

    private static void Close(double expected, double actual, double relative) =>
        Assert.True(Math.Abs(actual - expected) <= relative * Math.Abs(expected), $"{actual:R} is not within {relative} of {expected:R}");
}
