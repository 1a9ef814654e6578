namespace WashBridge.Analysis.Charts;

/// <summary>The groups of figures that are watched together: made once it is known which figures there are, with the figures that are there in nearly every cycle.</summary>
internal sealed class WatchedGroups(WatchedFigures figures, Budget budget)
{
    // A group needs all of its figures at once.
    private const double UsualShare = 0.7;

    private List<FigureGroup>? _groups;

    public bool AreMade => _groups is not null;

    public IReadOnlyList<FigureGroup> All => _groups ?? [];

    /// <param name="cycles">So many there were.</param>
    public void Make(int cycles)
    {
        var members = new SortedDictionary<string, List<string>>(StringComparer.Ordinal);
        foreach (var figure in figures.All.Where(f => !f.IsPeers && f.Cycles >= UsualShare * cycles).OrderBy(f => f.Key, StringComparer.Ordinal))
        {
            foreach (var group in FigureGroups.Of(figure.Name))
            {
                (members.TryGetValue(group, out var list) ? list : members[group] = []).Add(figure.Key);
            }
        }

        _groups = [.. members.Where(m => m.Value.Count > 1).Select(m => new FigureGroup(m.Key, [.. m.Value.Take(FigureGroups.Most)]))];
        foreach (var group in _groups)
        {
            group.Promise(budget.OfGroups(_groups.Count) / group.Members.Max(m => figures[m].Manner.Block));
        }
    }

    /// <summary>Shows a group the scores of a cycle where all its figures have new ones. While one of them drifts by itself it stands still.</summary>
    public GroupNews? Accept(FigureGroup group, int number)
    {
        var members = group.Figures ??= [.. group.Members.Select(m => figures[m])];
        if (IsAnyDrifting(members))
        {
            group.StandStill();
            return null;
        }

        return HasScores(members, group.LastCharted) ? group.Accept(number, Array.ConvertAll(members, static m => (float)m.Chart.LastScore)) : null;
    }

    private static bool IsAnyDrifting(WatchedFigure[] members)
    {
        foreach (var member in members)
        {
            if (member.Chart.IsDrifting)
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>All have newer ones than those that were used before.</summary>
    private static bool HasScores(WatchedFigure[] members, int since)
    {
        foreach (var member in members)
        {
            if (member.LastCharted <= since || !member.Chart.HasScore)
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>Figures begin anew, and with them the groups that they are in.</summary>
    /// <returns>The keys of groups that drifted.</returns>
    public IReadOnlyList<string> Restart(HashSet<string> figuresRestarted)
    {
        var drifted = new List<string>();
        foreach (var group in All.Where(g => g.Members.Any(figuresRestarted.Contains)))
        {
            if (group.IsDrifting)
            {
                drifted.Add(group.Key);
            }

            group.Restart();
        }

        return drifted;
    }

    public FigureGroupState[]? Save() => _groups?.Select(g => g.Save()).ToArray();

    public void Load(FigureGroupState[]? states)
    {
        _groups = states is null ? null : [];
        foreach (var one in states ?? [])
        {
            var group = new FigureGroup(one.Key, one.Members);
            group.Load(one);
            _groups!.Add(group);
        }
    }
}
