using Microsoft.Extensions.Localization;
using WashBridge.Core.Sampling;
using WashBridge.Web.Charts;

namespace WashBridge.Web.Trends;

/// <summary>The operating characteristic of a plan: how often lots of a washer are accepted that fails at a rate.</summary>
internal sealed class PlanChart(IStringLocalizer<PlanChart> texts)
{
    private const int Points = 120;

    /// <summary>Rates at which it is told in numbers, as multiples of the one that the plan is about.</summary>
    public static readonly IReadOnlyList<double> Multiples = [0.1, 0.25, 0.5, 1, 2, 4, 8];

    public static string Address(int size, int accepted, double rate) => FormattableString.Invariant($"trends/plan?size={size}&accepted={accepted}&rate={rate:R}");

    /// <param name="size">Kegs that are opened.</param>
    /// <param name="accepted">The lot is accepted if at most so many of them fail.</param>
    /// <param name="rate">That the plan is about, 0 to 1.</param>
    public ChartData Draw(int size, int accepted, double rate)
    {
        var end = Math.Min(1, Multiples[^1] * rate);
        var at = Enumerable.Range(0, Points + 1).Select(i => end * i / Points).ToList();
        return new ChartData
        {
            From = 0,
            Until = 100 * end,
            Axis = texts["axis"],
            Series = [new ChartSeries { Name = texts["accepted"], Unit = "%", At = [.. at.Select(r => 100 * r)], Value = [.. at.Select(r => (double?)(100 * Tails.AtMost(accepted, size, r)))], Form = "line" }],
            Limits = [new ChartLimit(texts["rate", Proof.Percent(rate)], "%", At: 100 * rate)],
        };
    }
}
