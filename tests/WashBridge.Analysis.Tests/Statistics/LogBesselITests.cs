using MathNet.Numerics;
using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Tests.Statistics;

public class LogBesselITests
{
    [Theory]
    [InlineData(0)]
    [InlineData(0.5)]
    [InlineData(1)]
    [InlineData(4.5)]
    [InlineData(9)]
    [InlineData(19)]
    public void Agrees_with_a_general_routine(double order)
    {
        var bessel = new LogBesselI(order);
        for (var z = 1e-4; z < 1800; z *= 1.07)
        {
            var expected = Math.Log(SpecialFunctions.BesselIScaled(order, z));
            Assert.InRange(bessel.Scaled(z) - expected, -2e-12 * (1 + Math.Abs(expected)), 2e-12 * (1 + Math.Abs(expected)));
        }
    }

    [Theory]
    [InlineData(0.3)]
    [InlineData(20)]
    [InlineData(700)]
    public void Of_order_one_half_is_a_hyperbolic_sine(double z) =>
        //// Abramowitz and Stegun 1964, 10.2.13.
        Assert.Equal(Math.Log((1 - Math.Exp(-2 * z)) / Math.Sqrt(2 * Math.PI * z)), new LogBesselI(0.5).Scaled(z), 1e-13);

    [Theory]
    [InlineData(-0.1)]
    [InlineData(20.5)]
    [InlineData(double.NaN)]
    public void Other_orders_are_refused(double order) => Assert.Throws<ArgumentOutOfRangeException>(() => new LogBesselI(order));
}
