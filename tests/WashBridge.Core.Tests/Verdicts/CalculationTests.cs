using WashBridge.Core.Verdicts.Calculations;

namespace WashBridge.Core.Tests.Verdicts;

/// <summary>Calculators against published values; the source stands beside each.</summary>
public sealed class CalculationTests
{
    [Fact]
    public void Conformance_probability_of_a_lower_limit()
    {
        // JCGM 106:2012, lower limit example: 509.7 kPa, u 8.6, limit 490 (inputs: value from memory; figures recomputed with SciPy 1.10).
        Assert.Equal(0.9890095473848222, ConformanceProbability.AtLeast(490, 509.7, 8.6), 14);
        Assert.Equal(2.2906976744186034, (509.7 - 490) / 8.6, 14);
    }

    [Fact]
    public void Prior_conformance_and_the_two_risks_of_the_resistor_example()
    {
        // JCGM 106:2012, resistors of 1500 ohm: u0 0.12, um 0.04, tolerance +-0.20, acceptance +-0.18.
        // The text prints 0.01 and 0.07 (value from memory); more digits recomputed with SciPy 1.10.
        const double prior = 0.12, measurement = 0.04, tolerance = 0.20, acceptance = 0.18;
        Assert.Equal(0.9044192954544461, ConformanceProbability.Between(-tolerance, tolerance, 0, prior), 13);

        double Accepted(double truth) => ConformanceProbability.Between(-acceptance, acceptance, truth, measurement);
        double Weight(double truth) => Normal.Density(truth / prior) / prior;
        var consumer = 2 * Integral(t => Weight(t) * Accepted(t), tolerance, 1.2);
        var producer = 2 * Integral(t => Weight(t) * (1 - Accepted(t)), 0, tolerance);

        Assert.Equal(0.009878291521767, consumer, 1e-7);
        Assert.Equal(0.0690265104613, producer, 1e-7);
    }

    private static double Integral(Func<double, double> density, double from, double to)
    {
        const int n = 5000;
        var step = (to - from) / n;
        return Enumerable.Range(0, n).Sum(i => density(from + ((i + 0.5) * step))) * step;
    }

    [Fact]
    public void A_guard_band_of_twice_the_uncertainty_accepts_at_most_two_and_a_half_per_cent_falsely()
    {
        // ILAC-G8:09/2019: guard band w = U gives less than 2.5 %, simple acceptance up to 50 % (secondary source).
        Assert.Equal(0.022750131948179, 1 - ConformanceProbability.AtLeast(0, 2, 1.0), 13);
        Assert.Equal(0.5, 1 - ConformanceProbability.AtLeast(0, 0, 1.0), 15);
    }

    [Fact]
    public void Uncertainty_of_a_duration_polled_at_both_ends()
    {
        // GUM (JCGM 100:2008) 4.3.9, triangular distribution on +-T: T / sqrt(6) (value from memory; checked by simulation).
        Assert.Equal(0.408248290463863, DurationUncertainty.OfEdges(1, 1), 14);
        Assert.Equal(Math.Sqrt((0.25 + 4) / 12), DurationUncertainty.OfEdges(0.5, 2), 14);
        Assert.Equal(2 / Math.Sqrt(12), DurationUncertainty.OfEdges(2, 0), 14);
    }

    [Theory]
    [InlineData(0.05, 0.683772233983162)]
    [InlineData(0.025, 0.776393202250021)]
    [InlineData(0, 1)]
    public void Guard_band_of_a_polled_duration(double risk, double expected)
    {
        // T(1 - sqrt(2 alpha)): from the triangular distribution; no published table.
        Assert.Equal(expected, GuardBand.OfPolledDuration(1, risk), 14);

        // At the acceptance limit the probability of a false acceptance is the risk.
        Assert.Equal(1 - risk, ConformanceProbability.AtLeast(30, GuardBand.AcceptanceLimit(30, expected), 1, 1), 13);
    }

    [Theory]
    [InlineData(29.5, 0.125)]
    [InlineData(30, 0.5)]
    [InlineData(30.25, 0.71875)]
    [InlineData(30.5, 0.875)]
    [InlineData(31, 1)]
    [InlineData(28.9, 0)]
    public void Probability_that_a_duration_polled_every_second_was_thirty_seconds(double observed, double expected) =>
        Assert.Equal(expected, ConformanceProbability.AtLeast(30, observed, 1, 1), 14);

    [Theory]
    [InlineData(0.25, 2)]
    [InlineData(2, 0.25)]
    [InlineData(1, 0)]
    [InlineData(1, 1)]
    public void The_trapezoid_agrees_with_counting_all_pairs_of_edges(double startWidth, double endWidth)
    {
        const int n = 400;
        for (var margin = -1.2; margin <= 1.2; margin += 0.15)
        {
            var within = 0;
            for (var i = 0; i < n; i++)
            {
                for (var j = 0; j < n; j++)
                {
                    within += margin + (endWidth * (((i + 0.5) / n) - 0.5)) - (startWidth * (((j + 0.5) / n) - 0.5)) >= 0 ? 1 : 0;
                }
            }

            Assert.Equal((double)within / (n * n), ConformanceProbability.AtLeast(30, 30 + margin, startWidth, endWidth), 0.005);
        }
    }

    [Theory]
    [InlineData(0, 0.5)]
    [InlineData(1, 0.8413447460685429)]
    [InlineData(-1.959963984540054, 0.025)]
    [InlineData(3, 0.9986501019683699)]
    [InlineData(-5, 2.866515718791939e-07)]
    [InlineData(-10, 7.619853024160525e-24)]
    public void The_normal_distribution(double z, double expected)
    {
        // Standard tables; digits as SciPy's norm.cdf prints them.
        Assert.Equal(1, Normal.Cumulative(z) / expected, 12);
    }

    [Fact]
    public void Oxygen_after_two_swings_to_five_atmospheres()
    {
        // Branan, Rules of Thumb for Chemical Engineers: 21 % at 5 atm, 2 swings -> 0.84 % (secondary source).
        Assert.Equal(0.0084, PurgeOxygen.After(0.21, 0, [(1, 5), (1, 5)]), 12);
    }

    [Fact]
    public void Oxygen_after_three_swings_of_two_bar()
    {
        // y_j = y_s + (y_0 - y_s)(P_L / P_H)^j with absolute pressures: formula from memory, recursion recomputed.
        var swings = Enumerable.Repeat((1.01325, 3.01325), 3).ToList();

        Assert.Equal(0.007965781119, PurgeOxygen.After(0.2095, 0, swings), 12);
        Assert.Equal(0.008446769708, PurgeOxygen.After(0.2095, 500e-6, swings), 12);
    }

    [Fact]
    public void Swings_needed_to_reach_a_hundred_parts_per_million()
    {
        // P_H / P_L = 3 to 100 ppm: 6.961 swings; with 10 ppm in the gas 7.057, so 8 and not 7 (value from memory; recomputed).
        double After(int swings, double inGas) => PurgeOxygen.After(0.2095, inGas, Enumerable.Repeat((1.0, 3.0), swings));

        Assert.True(After(6, 0) > 100e-6 && After(7, 0) <= 100e-6);
        Assert.True(After(7, 10e-6) > 100e-6 && After(8, 10e-6) <= 100e-6);
        Assert.Equal(6.961, Math.Log(0.2095 / 100e-6) / Math.Log(1 / (PurgeOxygen.AfterSwing(1, 0, 1, 3))), 3);
        Assert.Equal(7.057, Math.Log((0.2095 - 10e-6) / 90e-6) / Math.Log(1 / (PurgeOxygen.AfterSwing(1, 0, 1, 3))), 3);
    }

    [Fact]
    public void A_fill_that_does_not_raise_the_pressure_dilutes_nothing() => Assert.Equal(0.2, PurgeOxygen.AfterSwing(0.2, 0, 2, 1.5));

    [Theory]
    [InlineData(60, 1)]
    [InlineData(62, 1.940449)]
    [InlineData(65, 5.245121853990193)]
    [InlineData(72, 53.384280905783896)]
    public void Pasteurisation_units_a_minute(double temperature, double expected)
    {
        // Del Vecchio 1951: PU = t x 1.393^(T - 60). The z = 7 K form would give 51.7947 at 72 Cel.
        Assert.Equal(expected, ThermalDoses.PasteurisationRate(temperature), 11);
        Assert.NotEqual(51.7947, ThermalDoses.PasteurisationRate(72), 1);
    }

    [Theory]
    [InlineData(80, 600, 600)]
    [InlineData(90, 60, 600)]
    [InlineData(70, 6000, 600)]
    [InlineData(85, 60, 189.73665961)]
    [InlineData(90, 300, 3000)]
    [InlineData(65, 1, 0.0316227766)]
    [InlineData(64.9, 6000, 0)]
    public void Thermal_dose_A0(double temperature, double seconds, double expected)
    {
        // ISO 15883-1: A0 = sum of dt x 10^((T - 80) / 10), counting from 65 Cel; 600 = 10 min at 80 Cel = 1 min at 90 Cel = 100 min at 70 Cel.
        Assert.Equal(expected, seconds * ThermalDoses.A0Rate(temperature), 8);
    }
}
