namespace WashBridge.Configuration.Binding;

/// <summary>Which signals are read together, and how often.</summary>
internal static class PollGroupBinder
{
    public const int MaxGroups = 16;

    public static readonly TimeSpan LeastInterval = TimeSpan.FromMilliseconds(20);
    public static readonly TimeSpan MostInterval = TimeSpan.FromHours(1);
    public static readonly TimeSpan LeastHeartbeat = TimeSpan.FromSeconds(1);

    public static IReadOnlyList<PollGroup> Bind(MapBinder washer)
    {
        var groups = new List<PollGroup>();
        foreach (var map in washer.List("poll-groups", 1, MaxGroups).Select(n => MapBinder.Of(n, washer.Problems)).OfType<MapBinder>())
        {
            var group = new PollGroup(
                map.Integer("group", 0, 255),
                map.Text("name", TextForms.Id),
                map.Duration("every", LeastInterval, MostInterval),
                map.Duration("heartbeat", LeastHeartbeat, MostInterval, TimeSpan.FromMinutes(1)));
            map.Finish();
            groups.Add(group);
            if (group.Heartbeat < group.Every)
            {
                map.Problems.Add(map.PlaceOf("heartbeat"), $"a full frame cannot come more often than the group is read, every {Amounts.Write(group.Every)}", Amounts.Write(group.Heartbeat), $"at least {Amounts.Write(group.Every)}");
            }
        }

        var list = washer.Node.Find("poll-groups")?.Value;
        Unique.Check(list, "group", washer.Problems);
        Unique.Check(list, "name", washer.Problems);
        if (groups.Count > 0 && groups.TrueForAll(g => g.Number != 0))
        {
            washer.Problems.Add(list!.Place, "there is no poll group 0, which reads the sequence signals", string.Join(", ", groups.Select(g => g.Number)), "a group with group: 0");
        }

        return [.. groups.DistinctBy(g => g.Number).OrderBy(g => g.Number)];
    }
}
