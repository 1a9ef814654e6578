using WashBridge.Core.Verdicts;

namespace WashBridge.Recipes;

/// <summary>What judging again came to, in counts, and every keg whose verdict is other or that could not be judged again.</summary>
internal sealed class RejudgeSummary
{
    /// <summary>So many are named; all are counted.</summary>
    public const int MostNamed = 2000;

    private readonly Dictionary<(Verdict Was, Verdict Now), int> _counts = [];
    private readonly List<RejudgedKeg> _others = [];
    private readonly List<RejudgedKeg> _unjudged = [];
    private readonly HashSet<string> _cycles = new(StringComparer.Ordinal);

    public int Kegs { get; private set; }

    public int Cycles => _cycles.Count;

    /// <summary>Kegs whose verdict would be other.</summary>
    public int Others { get; private set; }

    /// <summary>Kegs that cannot be judged again.</summary>
    public int Unjudged { get; private set; }

    public IReadOnlyList<RejudgedKeg> NamedOthers => _others;

    public IReadOnlyList<RejudgedKeg> NamedUnjudged => _unjudged;

    public int Count(Verdict was, Verdict now) => _counts.GetValueOrDefault((was, now));

    public void Add(RejudgedKeg keg)
    {
        Kegs++;
        _cycles.Add(keg.Was.Verdict.CycleId);
        if (keg.Now is not { } now)
        {
            Unjudged++;
            Name(_unjudged, keg);
            return;
        }

        var key = (keg.Was.Verdict.Verdict, now.Verdict);
        _counts[key] = _counts.GetValueOrDefault(key) + 1;
        if (keg.IsOther)
        {
            Others++;
            Name(_others, keg);
        }
    }

    private static void Name(List<RejudgedKeg> list, RejudgedKeg keg)
    {
        if (list.Count < MostNamed)
        {
            list.Add(keg);
        }
    }
}
