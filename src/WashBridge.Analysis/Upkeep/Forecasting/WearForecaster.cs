using WashBridge.Analysis.Statistics;

namespace WashBridge.Analysis.Upkeep.Forecasting;

/// <summary>
/// How long until an index reaches its limit. Not one model is believed but many: in which scale wear runs straight, when it began, how rough its
/// path is and whether its speed wanders; each by how well it foretold what was seen (Bayesian model averaging, Hoeting and others 1999).
/// </summary>
public static class WearForecaster
{
    /// <summary>With fewer blocks nothing is said.</summary>
    public const int LeastBlocks = 4;

    /// <summary>Nothing beyond so many times the age is foretold.</summary>
    private const double FarthestAges = 30;
    private const double LeastShare = 0.008;
    private const double QuantileExactness = 1e-3;

    private const double FlatRoughness = 0.002;
    private static readonly double[] Roughness = [0, 0.03, 0.3, 3, 50];
    private static readonly (double Wander, double Prior)[] Wanders = [(0, 0.85), (0.3, 0.15)];

    /// <returns>Null: too few blocks, or a reference and a limit between which nothing can run.</returns>
    public static WearOutlook? Forecast(WearQuestion question)
    {
        ArgumentNullException.ThrowIfNull(question);
        question = question with { Blocks = WearHistory.SinceRecovery(question) };
        if (question.Blocks.Count < LeastBlocks || question.Limit == question.Reference || !double.IsFinite(question.Limit))
        {
            return null;
        }

        var data = WearData.Of(question);
        var models = Believed(AllModels(data));
        var (onset, power) = (Heaviest(models, m => m.Model.Onset), Heaviest(models, m => m.Model.Scale.Power));
        var trend = WearTrend.Since(data, question, (int)onset);
        var late = question.Now - question.Blocks[^1].Time;
        double Passed(double cycles) => models.Sum(m => m.Share * m.Model.Passed(cycles + late));
        var already = Passed(0);
        double Quantile(double p)
        {
            // Of the futures in which it was not passed before now.
            var target = already + (p * (1 - already));
            return target >= 1 ? 0 : TimeQuantile.Find(c => c <= 0 ? already : Passed(c), target, Math.Max(1, question.Now / 10), FarthestAges * Math.Max(1, question.Now), QuantileExactness);
        }

        return new WearOutlook
        {
            Now = data.Index(models.Sum(m => m.Share * m.Model.Scale.Inverse(data.Direction * m.Model.Filter.Level))),
            ReachedProbability = models.Sum(m => m.Share * m.Model.ReachedProbability),
            TowardsProbability = models.Sum(m => m.Share * m.Model.TowardsProbability),
            Slope = trend.Slope,
            SlopeUncertainty = trend.SlopeUncertainty,
            ChanceProbability = trend.ChanceProbability,
            Onset = question.Blocks[(int)onset].Time,
            Power = power,
            Median = Quantile(0.5),
            Lower = Quantile(0.1),
            Upper = Quantile(0.9),
        };
    }

    private static double Heaviest(List<(WearModel Model, double Share)> models, Func<(WearModel Model, double Share), double> what) =>
        models.GroupBy(what).MaxBy(g => g.Sum(m => m.Share))!.Key;

    /// <summary>Those that weigh anything, with their shares.</summary>
    private static List<(WearModel Model, double Share)> Believed(List<WearModel> models)
    {
        var best = models.Max(m => m.LogWeight);
        var sum = models.Sum(m => Math.Exp(m.LogWeight - best));
        var kept = models.Select(m => (Model: m, Share: Math.Exp(m.LogWeight - best) / sum)).Where(m => m.Share >= LeastShare).ToList();
        if (kept.Count == 0)
        {
            kept = [(models.MaxBy(m => m.LogWeight), 1)];
        }

        var total = kept.Sum(m => m.Share);
        return kept.ConvertAll(m => (m.Model, m.Share / total));
    }

    private static List<WearModel> AllModels(WearData data)
    {
        var onsets = Onsets(data.Times.Length);
        var models = new List<WearModel>(onsets.Count * data.Scales.Count * Roughness.Length * Wanders.Length);
        foreach (var scale in data.Scales)
        {
            var view = data.On(scale);
            AddModels(models, data, view, onsets);
        }

        return models;
    }

    private static void AddModels(List<WearModel> models, WearData data, WearView view, List<int> onsets)
    {
        var unit = view.Noise[^1] / data.Step;
        var flat = TrendFilter.Begin(view.Values[0], view.Noise[0]);
        var at = 0;
        foreach (var onset in onsets)
        {
            for (; at < onset; at++)
            {
                // Before it wears it hardly moves.
                flat.Advance(data.Times[at + 1] - data.Times[at], FlatRoughness * unit, 0);
                flat.See(view.Values[at + 1], view.Noise[at + 1]);
            }

            var span = data.Times[^1] - data.Times[onset];
            var speed = view.TypicalChange / span;
            var onsetPrior = onset == 0 ? 0.5 : 0.5 / (onsets.Count - 1);
            foreach (var roughness in Roughness)
            {
                foreach (var (wander, prior) in Wanders)
                {
                    var slopeDiffusion = wander * wander * speed * speed / span;
                    var filter = flat;
                    filter.BeginSlope(speed * speed);
                    for (var i = onset + 1; i < data.Times.Length; i++)
                    {
                        filter.Advance(data.Times[i] - data.Times[i - 1], roughness * unit, slopeDiffusion);
                        filter.See(view.Values[i], view.Noise[i]);
                    }

                    models.Add(new(view.Scale, onset, span, filter, roughness * unit, slopeDiffusion, view.Distance,
                        filter.LogLikelihood(WearModel.Freedom) + view.LogStretch + Math.Log(view.Scale.Prior * prior * onsetPrior)));
                }
            }
        }
    }

    /// <summary>From the start, and in ever smaller steps up to a few blocks before now.</summary>
    private static List<int> Onsets(int blocks)
    {
        var onsets = new List<int> { 0 };
        for (var after = blocks / 1.5; after >= 4; after /= 1.5)
        {
            var onset = blocks - (int)after;
            if (onset > onsets[^1] + 1)
            {
                onsets.Add(onset);
            }
        }

        return onsets;
    }
}
