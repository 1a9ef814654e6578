using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Pictures;

/// <summary>
/// A cycle on one time axis: a line for each phase, a box for each step. What certainly was the step is filled; where its edges can have been is outlined; gaps and pauses have
/// lines of their own.
/// </summary>
internal static class StripPicture
{
    public const string Legend =
        "Seconds since the cycle began at the earliest. Filled: certainly in this step. Outlined at its ends: the step can have begun or ended there. Crossed: nobody saw it. "
        + "W wall spray, S spear rinse, H hold, D drain, P pressurise, V vent.";

    private const double Width = 400;
    private const double LaneHeight = 27;
    private const double Top = 4;

    public static Picture Of(CycleRecord cycle)
    {
        var origin = cycle.Start.Earliest;
        var lanes = Lanes(cycle).ToList();
        var length = lanes.SelectMany(l => l.Bars).Select(b => Seconds(origin, b.End.Latest)).Append(Seconds(origin, cycle.End.Latest)).OfType<double>().DefaultIfEmpty(1).Max();
        length = Math.Max(length, 1);
        double X(double seconds) => Width * Math.Clamp(seconds / length, 0, 1);

        var shapes = new List<Shape>();
        for (var i = 0; i < lanes.Count; i++)
        {
            var top = Top + (i * LaneHeight);
            shapes.Add(new Label(0, top + 9, lanes[i].Title));
            shapes.Add(new Line([(0, top + 24), (Width, top + 24)], Pen.Rule));
            foreach (var bar in lanes[i].Bars)
            {
                shapes.AddRange(Draw(bar, origin, X, top + 12));
            }
        }

        var bottom = Top + (lanes.Count * LaneHeight) + 4;
        shapes.Add(new Line([(0, bottom), (Width, bottom)], Pen.Ink));
        var step = Step(length);
        for (var at = 0.0; at <= length; at += step)
        {
            var anchor = at == 0 ? Anchor.Start : at + step > length && X(at) > Width - 12 ? Anchor.End : Anchor.Middle;
            shapes.Add(new Line([(X(at), bottom), (X(at), bottom + 4)], Pen.Ink));
            shapes.Add(new Label(X(at), bottom + 14, at.ToString("0", CultureInfo.InvariantCulture) + (at == 0 ? " s" : ""), anchor));
        }

        var title = $"Phases and steps of cycle {cycle.Id} over {length.ToString("0.0", CultureInfo.InvariantCulture)} s; the table of steps has the numbers.";
        return new Picture(title, new Drawing(Width, bottom + 20, shapes));
    }

    private static IEnumerable<Lane> Lanes(CycleRecord cycle)
    {
        foreach (var phase in cycle.Phases)
        {
            var passes = phase.Passes.Count > 1 ? $" ({phase.Passes.Count} passes)" : "";
            yield return new Lane(phase.Id + passes, [.. phase.Passes.SelectMany(p => p.Steps).Select(s => new Bar(s.Start, s.End, Letter(s.Kind), s.Seen))]);
        }

        if (cycle.Pauses.Count > 0)
        {
            yield return new Lane("paused", [.. cycle.Pauses.Select(p => new Bar(p.Start, p.End, "", true))]);
        }

        if (cycle.Gaps.Count > 0)
        {
            yield return new Lane("nothing could be read", [.. cycle.Gaps.Select(g => new Bar(At(g.Earliest, cycle), At(g.Latest, cycle), "", false))]);
        }
    }

    private static IEnumerable<Shape> Draw(Bar bar, Moment origin, Func<double, double> x, double top)
    {
        const double Height = 10;
        if ((Seconds(origin, bar.Start.Earliest), Seconds(origin, bar.End.Latest)) is not ({ } begin, { } end))
        {
            yield break;
        }

        var (left, right) = (x(begin), Math.Max(x(end), x(begin) + 0.5));
        if (!bar.Seen)
        {
            yield return new Box(left, top, right - left, Height, Pen.Unseen);
            yield break;
        }

        yield return new Box(left, top + 2, right - left, Height - 4, Pen.Possible);
        if ((Seconds(origin, bar.Start.Latest), Seconds(origin, bar.End.Earliest)) is ({ } surelyBegun, { } notYetEnded) && notYetEnded > surelyBegun)
        {
            var (from, to) = (x(surelyBegun), x(notYetEnded));
            yield return new Box(from, top, to - from, Height, Pen.Certain);
            if (to - from > 9 && bar.Letter.Length > 0)
            {
                yield return new Label((from + to) / 2, top + 8.5, bar.Letter, Anchor.Middle, IsInverse: true);
            }
        }
    }

    private static double? Seconds(Moment origin, Moment at) => at.Epoch == origin.Epoch ? (at.Steady - origin.Steady).TotalSeconds : null;

    /// <summary>Gaps carry wall time only; where the clock was set within the cycle they can lie elsewhere by as much.</summary>
    private static Edge At(Instant wall, CycleRecord cycle)
    {
        var start = cycle.Start.Earliest;
        var moment = start with { Wall = wall, Steady = start.Steady + (wall - start.Wall) };
        return new Edge(moment, moment);
    }

    private static double Step(double length) => new[] { 1.0, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1800, 3600 }.FirstOrDefault(s => length / s <= 8, 7200);

    private static string Letter(StepKind step) => step switch
    {
        StepKind.WallSpray => "W",
        StepKind.SpearRinse => "S",
        StepKind.Hold => "H",
        StepKind.Drain => "D",
        StepKind.Pressurise => "P",
        _ => "V",
    };

    private sealed record Lane(string Title, IReadOnlyList<Bar> Bars);

    private sealed record Bar(Edge Start, Edge End, string Letter, bool Seen);
}
