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
    private const int MostOnsets = 6;
    private const int LeastAfterOnset = 3;

    /// <summary>By how much lives scatter on such a path, as a coefficient of variation, and how likely that is before anything is seen; chosen on invented lives.</summary>
    private static readonly (double Life, double Prior)[] Roughness = [(0.02, 0.15), (0.05, 0.25), (0.1, 0.25), (0.2, 0.2), (0.4, 0.1), (1, 0.05)];
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
        var onsets = LikelyOnsets(data);
        var models = new List<WearModel>(onsets.Count * data.Scales.Count * Roughness.Length * Wanders.Length);
        foreach (var scale in data.Scales)
        {
            var view = data.On(scale);
            foreach (var (onset, flat, weight) in Flat(data, view, onsets))
            {
                foreach (var (life, likely) in Roughness)
                {
                    foreach (var (wander, prior) in Wanders)
                    {
                        models.Add(Model(data, view, onset, flat, life, wander, weight + Math.Log(scale.Prior * likely * prior)));
                    }
                }
            }
        }

        return models;
    }

    /// <summary>Beliefs at the onsets: before it wears it hardly moves.</summary>
    private static IEnumerable<(int Onset, TrendFilter Flat, double Weight)> Flat(WearData data, WearView view, IReadOnlyList<(int Onset, double Weight)> onsets)
    {
        var flat = TrendFilter.Begin(view.Values[0], view.Noise[0]);
        var at = 0;
        foreach (var (onset, weight) in onsets)
        {
            for (; at < onset; at++)
            {
                flat.Advance(data.Times[at + 1] - data.Times[at], FlatRoughness * view.Noise[at] / data.Step, 0);
                flat.See(view.Values[at + 1], view.Noise[at + 1]);
            }

            yield return (onset, flat, weight);
        }
    }

    private static WearModel Model(WearData data, WearView view, int onset, TrendFilter filter, double life, double wander, double logPrior)
    {
        var span = data.Times[^1] - data.Times[onset];
        var speed = view.TypicalChange / span;

        // The variance of the first passage's time is distance x diffusion / speed³.
        var diffusion = life * life * view.Distance * speed;
        var slopeDiffusion = wander * wander * speed * speed / span;
        filter.BeginScale(WearModel.Freedom);
        filter.BeginSlope(speed * speed);
        for (var i = onset + 1; i < data.Times.Length; i++)
        {
            filter.Advance(data.Times[i] - data.Times[i - 1], diffusion, slopeDiffusion);
            filter.See(view.Values[i], view.Noise[i]);
        }

        return new(view.Scale, onset, span, filter, diffusion, slopeDiffusion, view.Distance, view.DistanceVariance, filter.LogLikelihood(WearModel.Freedom) + view.LogStretch + logPrior);
    }

    /// <summary>
    /// When it likely began, in order: every block is tried with a middling roughness on a plain scale; the onsets are those in the middle of equal shares of the belief.
    /// Each comes with what takes its own likelihood out of its models' weights again.
    /// </summary>
    private static List<(int Onset, double Weight)> LikelyOnsets(WearData data)
    {
        var view = data.On(data.Scales.First(s => s.Power == 1));
        var last = Math.Max(0, data.Times.Length - 1 - LeastAfterOnset);
        var every = Enumerable.Range(0, last + 1).Select(i => (i, i == 0 ? Math.Log(0.5) : Math.Log(0.5 / last))).ToList();
        var tried = Flat(data, view, every).Select(o => Model(data, view, o.Onset, o.Flat, 0.2, 0, o.Weight)).ToList();
        var best = tried.Max(m => m.LogWeight);
        var sum = tried.Sum(m => Math.Exp(m.LogWeight - best));
        var found = new List<(int Onset, double Weight)>();
        var (passed, next) = (0.0, 0.5);
        foreach (var model in tried)
        {
            var share = MostOnsets * Math.Exp(model.LogWeight - best) / sum;
            var times = 0;
            for (passed += share; passed >= next && next < MostOnsets; next++)
            {
                times++;
            }

            if (times > 0)
            {
                found.Add((model.Onset, Math.Log(times) - model.LogWeight));
            }
        }

        return found;
    }
}
