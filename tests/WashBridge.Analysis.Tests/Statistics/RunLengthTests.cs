using System.Globalization;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Statistics;

public sealed class RunLengthTests
{
    public static TheoryData<string, double, double, double, double> Published => new()
    {
        // Kind, k or lambda, h or L, shift, average run length as printed.
        { "one-sided", 0.5, 3, 0, 117.596 },       // SAS/QC documentation, CUSUMARL function
        { "one-sided", 0.5, 3, 1, 6.40391 },       // SAS/QC documentation, CUSUMARL function
        { "one-sided", 0.5, 3, 1.5, 3.75 },        // Brook and Evans 1972
        { "two-sided", 0.5, 4, 0, 168 },           // Lucas and Crosier 1982
        { "two-sided", 0.5, 4, 1, 8.38 },          // Lucas and Crosier 1982
        { "two-sided", 0.5, 4, 2, 3.34 },          // Lucas and Crosier 1982
        { "ewma", 0.25, 3, 1, 11.154267016 },      // SAS/QC documentation, EWMAARL function
        { "ewma", 0.5, 2, 1.25, 3.59019501 },      // Function xewma.arl of the R package spc 0.6.7; Crowder 1987 prints 3.95, a misprint
    };

    [Fact]
    public void Agrees_with_592_values_of_another_program_to_six_digits()
    {
        var lines = File.ReadAllLines(Path.Combine(AppContext.BaseDirectory, "Statistics", "run-lengths.csv")).Skip(2).ToArray();
        var worst = lines.Select(Deviation).MaxBy(d => d.Relative);
        Assert.Equal(592, lines.Length);
        Assert.True(worst.Relative < 1e-6, $"{worst.Line}: differs by {worst.Relative:G3}");
    }

    [Theory]
    [MemberData(nameof(Published))]
    public void Agrees_with_published_tables_as_far_as_they_are_printed(string kind, double first, double limit, double shift, double printed)
    {
        var text = printed.ToString(CultureInfo.InvariantCulture);
        var decimals = text.Contains('.', StringComparison.Ordinal) ? text.Length - text.IndexOf('.', StringComparison.Ordinal) - 1 : 0;
        Assert.Equal(printed, Length(kind, first, limit, shift), 0.5 * Math.Pow(10, -decimals) * 1.001);
    }

    [Fact]
    public void An_average_of_one_value_is_the_individuals_chart()
    {
        // Three-sigma limits: 370.3983473, 1 / (2 (1 - Phi(3))).
        Assert.Equal(370.3983473, EwmaRunLength.TwoSided(1, 3), 1e-7);
    }

    [Theory]
    [InlineData(4, 0, 338.09316715655797)]
    [InlineData(4, 1, 8.343414705263488)]
    [InlineData(5, 0, 938.2223641163949)]
    [InlineData(5, 1, 10.336199235393469)]
    public void Is_within_a_few_per_cent_of_the_known_approximation(double limit, double shift, double siegmund) =>
        //// Siegmund 1985, with b = h + 1.166.
        Assert.Equal(1, CusumRunLength.OneSided(0.5, limit, shift) / siegmund, 0.03);

    [Theory]
    [InlineData(50)]
    [InlineData(370)]
    [InlineData(10_000)]
    [InlineData(2.5e6)]
    [InlineData(1e8)]
    public void Limits_are_the_inverse_of_run_lengths(double every)
    {
        foreach (var k in new[] { 0.1, 0.25, 0.5, 0.75, 1.5 })
        {
            Assert.Equal(1, CusumRunLength.TwoSided(k, CusumRunLength.LimitTwoSided(k, every)) / every, 1e-7);
        }

        foreach (var lambda in new[] { 0.02, 0.05, 0.1, 0.3, 1 })
        {
            Assert.Equal(1, EwmaRunLength.TwoSided(lambda, EwmaRunLength.LimitTwoSided(lambda, every)) / every, 1e-7);
        }
    }

    [Fact]
    public void Starting_at_half_the_limit_shortens_the_way()
    {
        // Lucas and Crosier 1982 (value from memory): k 0.5, h 5, head start 2.5, shift 1: 6.4 values instead of 10.4.
        Assert.Equal(6.4, CusumRunLength.OneSided(0.5, 5, 1, 2.5), 0.06);
    }

    [Theory]
    [InlineData(0.1, 8.66, 2, 202.24999407)]
    [InlineData(0.08, 30, 3, 1072305.3713)]
    [InlineData(0.05, 20, 10, 168.16448688)]
    public void Of_several_figures_agrees_with_another_program(double weight, double limit, int dimension, double expected) =>
        //// Function mewma.arl of the R package spc 0.6.7.
        Assert.Equal(1, MewmaRunLength.InControl(weight, limit, dimension) / expected, 1e-6);

    [Theory]
    [InlineData(2, 8.63)]
    [InlineData(10, 22.66)]
    public void Limits_of_several_figures_are_those_of_the_tables(int dimension, double printed)
    {
        // Weight 0.1, one false alarm in 200 (Prabhu and Runger 1997; values confirmed by mewma.crit of the R package spc 0.6.7).
        Assert.Equal(printed, MewmaRunLength.Limit(0.1, dimension, 200), 0.005);
        var limit = MewmaRunLength.Limit(0.08, dimension, 1e7);
        Assert.Equal(1, MewmaRunLength.InControl(0.08, limit, dimension) / 1e7, 1e-3);
    }

    [Theory]
    [InlineData(double.NaN, 4, 0)]
    [InlineData(-0.1, 4, 0)]
    [InlineData(0.5, 0, 0)]
    [InlineData(0.5, 4, double.PositiveInfinity)]
    public void What_makes_no_chart_is_refused_with_what_is_allowed(double k, double limit, double shift)
    {
        var error = Assert.Throws<ArgumentOutOfRangeException>(() => CusumRunLength.OneSided(k, limit, shift));
        Assert.Contains("allowed", error.Message, StringComparison.Ordinal);
    }

    private static (string Line, double Relative) Deviation(string line)
    {
        var cells = line.Split(',');
        var expected = double.Parse(cells[5], CultureInfo.InvariantCulture);
        var numbers = cells[2..5].Select(c => double.Parse(c, CultureInfo.InvariantCulture)).ToArray();
        var kind = cells[0] == "cusum" ? cells[1] + "-sided" : cells[1] == "two(vacl)" ? "ewma, exact limits" : "ewma";
        return (line, Math.Abs((Length(kind, numbers[0], numbers[1], numbers[2]) / expected) - 1));
    }

    private static double Length(string kind, double first, double limit, double shift) => kind switch
    {
        "one-sided" => CusumRunLength.OneSided(first, limit, shift),
        "two-sided" => CusumRunLength.TwoSided(first, limit, shift),
        "ewma" => EwmaRunLength.TwoSided(first, limit, shift),
        "ewma, exact limits" => EwmaRunLength.TwoSidedExactLimits(first, limit, shift),
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, null),
    };
}
