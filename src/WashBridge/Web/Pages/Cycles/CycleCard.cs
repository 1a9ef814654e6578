using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Web.Charts;

namespace WashBridge.Web.Pages.Cycles;

/// <summary>All that is known of one cycle.</summary>
/// <param name="Cycle">As it ended.</param>
/// <param name="Kegs">By station; of each the verdicts in the order in which they were reached, the last one counts.</param>
/// <param name="Recipe">With the version that the verdicts name, if the site still has it.</param>
internal sealed record CycleCard(CycleRecord Cycle, IReadOnlyList<IReadOnlyList<KegJudged>> Kegs, Recipe? Recipe)
{
    private const int MostSignals = 7;

    /// <summary>Most telling first, where a recipe asks for nothing in particular.</summary>
    private static readonly string[] Telling = ["temperature.caustic", "temperature.return", "temperature.sanitiser", "conductivity.return", "pressure.keg", "flow.supply", "drain.dry"];

    private static readonly TimeSpan[] Reaches = [TimeSpan.FromHours(2), TimeSpan.FromDays(2), TimeSpan.FromDays(60)];

    public static CycleCard? Find(IHistorianReader historian, Site site, string id)
    {
        var events = historian.ReadEvents(new EventQuery { CycleId = id, Kinds = ["cycle-ended", "keg-judged"] });
        return events.OfType<CycleEnded>().FirstOrDefault() is { } ended ? Of(ended.Cycle, events.OfType<KegJudged>(), site) : null;
    }

    public static CycleCard Of(CycleRecord cycle, IEnumerable<KegJudged> judged, Site site)
    {
        IReadOnlyList<IReadOnlyList<KegJudged>> kegs = [.. judged.GroupBy(k => k.Verdict.Station).OrderBy(k => k.Key).Select(k => (IReadOnlyList<KegJudged>)[.. k])];
        var named = kegs.Count > 0 ? kegs[0][^1].Verdict : null;
        var recipe = site.Washers.FirstOrDefault(w => w.Model.Washer == cycle.Washer)?.RecipeFor(cycle.Programme);
        return new CycleCard(cycle, kegs, recipe is not null && (named is null || (recipe.Id == named.Recipe && recipe.Version == named.RecipeVersion)) ? recipe : null);
    }

    public Instant From => Cycle.Start.Earliest.Wall - TimeSpan.FromSeconds(5);

    public Instant Until => Instant.Max(Cycle.End.Latest.Wall, Cycle.Start.Latest.Wall) + TimeSpan.FromSeconds(5);

    /// <summary>The cycles of the same washer right before and after; null where there is none within weeks.</summary>
    public (CycleRecord? Before, CycleRecord? After) Neighbours(IHistorianReader historian)
    {
        var (start, end) = (Cycle.Start.Earliest.Wall, Cycle.End.Latest.Wall);
        CycleRecord? before = null, after = null;
        foreach (var reach in Reaches)
        {
            before ??= Read(historian, start - reach, start + TimeSpan.FromMicroseconds(1)).Where(c => c.End.Latest.Wall <= end).MaxBy(c => c.End.Latest.Wall);
            after ??= Read(historian, end, end + reach).Where(c => c.End.Latest.Wall >= end).MinBy(c => c.End.Latest.Wall);
        }

        return (before, after);
    }

    /// <summary>The signals that tell most about this cycle: those that the recipe asks about, then the usual ones; of the stations where they have their own.</summary>
    public IReadOnlyList<Signal> SignalsOf(IReadOnlyList<Signal> drawable)
    {
        var asked = (Recipe?.Requirements ?? []).Select(r => r switch
        {
            TimeBeyond beyond => beyond.Signal,
            ThermalDose dose => dose.Signal,
            ResidualOxygen => "pressure.keg",
            _ => null,
        }).OfType<string>();
        return [.. asked.Concat(Telling).Distinct().SelectMany(name => drawable.Where(s => s.Name == name)).Take(MostSignals)];
    }

    /// <summary>Phases behind the signals.</summary>
    public IReadOnlyList<ChartSpan> Spans() => [.. Cycle.Phases
        .Select(p => new ChartSpan(ChartData.Milliseconds(p.Start.Latest.Wall), ChartData.Milliseconds(p.End.Latest.Wall), p.Id, "phase"))
        .Where(s => s.Until > s.From)];

    /// <summary>Values that a signal must reach, in the signal's panel.</summary>
    public IReadOnlyList<ChartLimit> Limits(IReadOnlyList<Signal> signals, Func<string, object[], string> text) => [.. (Recipe?.Requirements ?? [])
        .OfType<TimeBeyond>()
        .Where(r => signals.Any(s => s.Name == r.Signal))
        .Select(r => (Limit: r, Unit: SignalNames.Unit(signals.First(s => s.Name == r.Signal))))
        .Select(r => new ChartLimit(text(r.Limit.Below ? "beyond.below" : "beyond.above", [r.Limit.Signal, WashWords.Number(r.Limit.Value) + " " + r.Unit, WashWords.Number(r.Limit.AtLeast.TotalSeconds)]), r.Unit, r.Limit.Value))];

    private IEnumerable<CycleRecord> Read(IHistorianReader historian, Instant from, Instant until) =>
        historian.ReadEvents(new EventQuery { Washer = Cycle.Washer, Kinds = ["cycle-ended"], From = from, Until = until }).OfType<CycleEnded>().Select(e => e.Cycle).Where(c => c.Id != Cycle.Id);
}
