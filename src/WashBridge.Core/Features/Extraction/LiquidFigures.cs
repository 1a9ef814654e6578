using WashBridge.Core.Cycles;

namespace WashBridge.Core.Features.Extraction;

/// <summary>How much liquid each keg got before a drain, and how much water in all.</summary>
internal static class LiquidFigures
{
    private const string Signal = "flow.supply";

    /// <summary>Two readings of a flow further apart say nothing of the time between them, s.</summary>
    private const double GapLimit = 3;

    public static void Take(Extraction of)
    {
        if (of.Occupied.Count == 0)
        {
            return;
        }

        var flows = of.Measured(Signal).ToList();
        if (flows.Count == 0)
        {
            TakeTimes(of);
        }

        // One meter for all: each keg gets its share. Else each station's own.
        flows = flows.Exists(f => f.Station == 0) ? flows[..1] : flows;
        var water = new List<Estimate?>();
        foreach (var (station, flow) in flows)
        {
            var kegs = station == 0 ? of.Occupied.Count : 1;
            var litres = of.Steps.ConvertAll(s => s.IsSpray ? Litres(of, flow, s) : null);
            ForEachDrain(of, litres, (drain, sum) => of.Figures.Add($"liquid/{drain.Phase.Id}/{drain.Pass}", station, sum.Times(1.0 / kegs)));
            var rinses = litres.Where((_, i) => of.Steps[i].IsSpray && of.Steps[i].Phase.Kind == PhaseKind.Rinse).ToList();
            water.Add(rinses.Count > 0 && rinses.TrueForAll(l => l is not null) ? Estimate.Sum([.. rinses.Select(l => l!.Value)]) : null);
        }

        if (of.IsWhole && water.Count > 0 && water.TrueForAll(w => w is not null) && (flows[0].Station == 0 || flows.Count == of.Occupied.Count))
        {
            of.Figures.Add("water-per-keg", 0, Estimate.Sum([.. water.Select(w => w!.Value)]).Times(1.0 / of.Occupied.Count));
        }
    }

    /// <summary>Without a flow meter the time of the sprays stands for what was delivered.</summary>
    private static void TakeTimes(Extraction of) => ForEachDrain(
        of,
        of.Steps.ConvertAll(s => s.IsSpray && s.IsWhole ? Estimate.Duration(s.Step.Start, s.Step.End) : null),
        (drain, sum) => of.Figures.Add($"spray-time/{drain.Phase.Id}/{drain.Pass}", 0, sum));

    /// <summary>What the sprays since the drain before come to; nothing where one of them is not known.</summary>
    private static void ForEachDrain(Extraction of, List<Estimate?> ofSteps, Action<StepView, Estimate> take)
    {
        var sprays = new List<Estimate>();
        var isKnown = !of.View.BeganUnseen;
        for (var i = 0; i < of.Steps.Count; i++)
        {
            var step = of.Steps[i];
            if (step.IsSpray)
            {
                isKnown &= ofSteps[i] is not null;
                sprays.Add(ofSteps[i] ?? default);
            }
            else if (step.Step.Kind == StepKind.Drain)
            {
                if (isKnown && step.IsPassKnown && sprays.Count > 0)
                {
                    take(step, Estimate.Sum(sprays));
                }

                sprays.Clear();
                isKnown = step.Step.Seen;
            }
        }
    }

    /// <summary>
    /// The flow from reading to reading within the step; before the first it goes in a line from what it was, after the last it stays, until the controller
    /// ends the step: that edge is known better than the readings tell.
    /// </summary>
    private static Estimate? Litres(Extraction of, Track flow, StepView step)
    {
        if (!step.IsWhole || step.Inner is not { } inner || Window.BetweenMiddles(step.Step.Start, step.Step.End) is not { } window)
        {
            return null;
        }

        var points = of.Buffer;
        points.Clear();
        flow.Points(inner, points, around: true);
        if (points.Count > 0 && points[^1].At.Latest > inner.To)
        {
            points.RemoveAt(points.Count - 1);
        }

        // One before the step, to tell from what the flow rose, and one at least within it.
        if (points.Count < 2 || points[0].At.Earliest >= inner.From)
        {
            return null;
        }

        var (start, end) = (window.From / 1e6, window.To / 1e6);
        var (first, last) = (points[1], points[^1]);
        if (first.Seconds - points[0].Seconds > GapLimit || end - last.Seconds > GapLimit)
        {
            return null;
        }

        var rise = first.Seconds - start;
        var sum = rise * (points[0].Value + first.Value) / 2;
        var variance = Readouts.Variance(rise * (first.Value - points[0].Value) / 2);
        var reports = 1;
        for (var i = 2; i < points.Count; i++)
        {
            var apart = points[i].Seconds - points[i - 1].Seconds;
            if (apart > GapLimit)
            {
                return null;
            }

            reports += points[i].Report != points[i - 1].Report ? 1 : 0;
            sum += apart * (points[i].Value + points[i - 1].Value) / 2;
            variance += Readouts.Variance(apart * (points[i].Value - points[i - 1].Value) / 2);
        }

        var rest = end - last.Seconds;
        sum += rest * last.Value;
        variance += Readouts.Variance(rest * (last.Value - points[^2].Value));
        variance += Edge(step.Step.Start, (points[0].Value + first.Value) / 2) + Edge(step.Step.End, last.Value);
        variance += Readouts.Variance(flow.DeadBand * window.Seconds) / reports;
        return new Estimate(sum, Math.Sqrt(variance)).Times(1.0 / 60);
    }

    private static double Edge(Time.Edge edge, double flow) => Readouts.Variance(flow * (edge.Latest.Steady - edge.Earliest.Steady).TotalSeconds / 2);
}
