using CsCheck;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Statistics;

public sealed class WeibullFitTests
{
    /// <summary>Diesel generator fans, Nelson (1982), page 133: 70 fans, 12 failures; recomputed with survreg of R's survival 3.5-3.</summary>
    private static readonly (int Hours, bool Failed)[] Fans =
    [
        (450, true), (460, false), (1150, true), (1150, true), (1560, false), (1600, true), (1660, false), (1850, false), (1850, false), (1850, false),
        (1850, false), (1850, false), (2030, false), (2030, false), (2030, false), (2070, true), (2070, true), (2080, true), (2200, false), (3000, false),
        (3000, false), (3000, false), (3000, false), (3100, true), (3200, false), (3450, true), (3750, false), (3750, false), (4150, false), (4150, false),
        (4150, false), (4150, false), (4300, false), (4300, false), (4300, false), (4300, false), (4600, true), (4850, false), (4850, false), (4850, false),
        (4850, false), (5000, false), (5000, false), (5000, false), (6100, false), (6100, true), (6100, false), (6100, false), (6300, false), (6450, false),
        (6450, false), (6700, false), (7450, false), (7800, false), (7800, false), (8100, false), (8100, false), (8200, false), (8500, false), (8500, false),
        (8500, false), (8750, false), (8750, true), (8750, false), (9400, false), (9900, false), (10100, false), (10100, false), (10100, false), (11500, false),
    ];

    /// <summary>Edmunson and others (1979), as in R's survival package: ovarian.</summary>
    private static readonly (int Days, bool Failed)[] Ovarian =
    [
        (59, true), (115, true), (156, true), (421, false), (431, true), (448, false), (464, true), (475, true), (477, false), (563, true), (638, true),
        (744, false), (769, false), (770, false), (803, false), (855, false), (1040, false), (1106, false), (1129, false), (1206, false), (1227, false),
        (268, true), (329, true), (353, true), (365, true), (377, false),
    ];

    /// <summary>Motors at 170 degrees, Kalbfleisch and Prentice (1980), as in R's MASS package.</summary>
    private static readonly (int Hours, bool Failed)[] Motors170 =
    [
        (1764, true), (2772, true), (3444, true), (3542, true), (3780, true), (4860, true), (5196, true), (5448, false), (5448, false), (5448, false),
    ];

    [Fact]
    public void The_fans_are_reproduced()
    {
        var fit = Fit(Fans);
        Assert.Equal(12, fit.Failures);
        Assert.Equal(1.05844584994376, fit.Best.Shape, 1e-7);
        Assert.Equal(26296.8451748205, fit.Best.Scale, 0.01);
        Assert.Equal(-135.152719943356, fit.LogLikelihood, 1e-9);
        Assert.Equal(3137.24077789284, fit.B10, 1e-3);
    }

    [Fact]
    public void The_ovarian_study_is_reproduced()
    {
        var fit = Fit(Ovarian);
        Assert.Equal(1.10805973957364, fit.Best.Shape, 1e-7);
        Assert.Equal(1225.4189589287, fit.Best.Scale, 1e-3);
        Assert.Equal(-97.9539010471308, fit.LogLikelihood, 1e-9);
    }

    [Fact]
    public void The_motors_are_reproduced()
    {
        var fit = Fit(Motors170);
        Assert.Equal(2.87806532446033, fit.Best.Shape, 1e-6);
        Assert.Equal(5066.60703412843, fit.Best.Scale, 1e-2);
    }

    [Fact]
    public void Profile_intervals_drop_the_likelihood_by_half_the_chi_square()
    {
        var fit = Fit(Fans);
        var (lower, upper) = fit.ShapeInterval();
        foreach (var shape in new[] { lower, upper })
        {
            var scale = Math.Pow(Fans.Sum(f => Math.Pow(f.Hours, shape)) / 12, 1 / shape);
            Assert.Equal(fit.LogLikelihood - (3.841458820694124 / 2), new Weibull(shape, scale).LogLikelihood(fit.Lives), 1e-6);
        }

        var (early, late) = fit.QuantileInterval(0.1);
        Assert.True(early < fit.B10 && fit.B10 < late);
    }

    [Fact]
    public void A_profile_interval_holds_its_promise()
    {
        // 400 samples of 30 lives, some censored at 1.2 times the scale: 95 % intervals of the shape, less 3.5 standard errors of the count.
        var random = new Random(7);
        var held = 0;
        for (var sample = 0; sample < 400; sample++)
        {
            var lives = Enumerable.Range(0, 30).Select(_ => new Weibull(2, 1000).Quantile(random.NextDouble()))
                .Select(l => new Lifetime(Math.Min(l, 1200), l < 1200)).ToList();
            var (lower, upper) = WeibullFit.Of(lives)!.ShapeInterval();
            held += lower <= 2 && 2 <= upper ? 1 : 0;
        }

        Assert.InRange(held / 400.0, 0.91, 0.985);
    }

    [Fact]
    public void What_is_left_follows_from_the_survivors_only() =>
        Gen.Select(Gen.Double[0.5, 5], Gen.Double[10, 1000], Gen.Double[0, 1500], Gen.Double[0.05, 0.95]).Sample((shape, scale, age, share) =>
        {
            var left = new Weibull(shape, scale).ResidualQuantile(age, share);

            // Their survival over that until now; as cumulated hazards, because both underflow at a high age.
            var (then, now) = (Math.Pow((age + left) / scale, shape), Math.Pow(age / scale, shape));
            Assert.Equal(Math.Log(1 - share), now - then, 1e-9 + (1e-9 * now));
        });

    [Fact]
    public void One_failure_gives_no_fit() => Assert.Null(WeibullFit.Of([new(100, true), new(200, false)]));

    [Fact]
    public void Failures_that_are_all_alike_give_no_shape() => Assert.Null(WeibullFit.Of([new(100, true), new(100, true)]));

    [Fact]
    public void A_life_of_nothing_is_refused()
    {
        var error = Assert.Throws<ArgumentException>(() => WeibullFit.Of([new(0, true), new(100, true)]));
        Assert.Contains("above 0", error.Message);
    }

    private static WeibullFit Fit((int Use, bool Failed)[] lives) => WeibullFit.Of(lives.Select(l => new Lifetime(l.Use, l.Failed)).ToList())!;
}
