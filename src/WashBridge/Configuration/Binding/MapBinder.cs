using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>
/// Takes the values of one mapping by key. What is missing, wrong or out of range is reported, and a harmless value stands in for it, so that
/// binding goes on and finds the rest; a site with problems is never given out. <see cref="Finish"/> reports keys that nobody asked for.
/// </summary>
internal sealed class MapBinder(YamlMapping map, ProblemList problems)
{
    private readonly List<string> known = [];
    private readonly List<string> refused = [];

    public YamlMapping Node => map;

    public Place Place => map.Place;

    public ProblemList Problems => problems;

    /// <summary>The mapping that <paramref name="node"/> is, or null after reporting that it is none.</summary>
    public static MapBinder? Of(YamlNode? node, ProblemList problems)
    {
        if (node is null or YamlMapping)
        {
            return node is YamlMapping mapping ? new MapBinder(mapping, problems) : null;
        }

        problems.Add(node, "this must be a mapping", "a mapping (lines of key: value)");
        return null;
    }

    /// <summary>The value of a key; null if it is not there. A key that stands without a value counts as a wrong value, not as missing.</summary>
    public YamlNode? Find(string key)
    {
        known.Add(key);
        return map.Find(key)?.Value;
    }

    public YamlNode? Require(string key, string allowed)
    {
        var node = Find(key);
        if (node is null)
        {
            problems.Add(PlaceOf(key), $"the key {key} is missing", "", allowed);
        }

        return node;
    }

    /// <summary>Where a key stands, or the mapping that lacks it.</summary>
    public Place PlaceOf(string key) => map.Find(key)?.Value.Place ?? map.Place with { Field = map.Place.Field.Length == 0 ? key : $"{map.Place.Field}.{key}" };

    public string Text(string key, TextForm form) => Require(key, form.Description) is { } node ? Scalars.Text(node, form, problems) ?? "" : "";

    public string? OptionalText(string key, TextForm form) => Find(key) is { } node ? Scalars.Text(node, form, problems) : null;

    public int Integer(string key, int least, int most) => Require(key, Scalars.WholeRange(least, most)) is { } node ? Scalars.Integer(node, least, most, problems) ?? least : least;

    public int? OptionalInteger(string key, int least, int most) => Find(key) is { } node ? Scalars.Integer(node, least, most, problems) : null;

    public int Integer(string key, int least, int most, int fallback) => OptionalInteger(key, least, most) ?? fallback;

    public double? OptionalNumber(string key, double least = double.MinValue, double most = double.MaxValue) =>
        Find(key) is { } node ? Scalars.Number(node, least, most, problems) : null;

    public double Number(string key, double least, double most) =>
        Require(key, Scalars.NumberRange(least, most)) is { } node ? Scalars.Number(node, least, most, problems) ?? 0 : 0;

    public bool Flag(string key, bool fallback) => Find(key) is { } node ? Scalars.Flag(node, problems) ?? fallback : fallback;

    public TimeSpan Duration(string key, TimeSpan least, TimeSpan most) =>
        Require(key, Scalars.DurationRange(least, most)) is { } node ? Scalars.Duration(node, least, most, problems) ?? least : least;

    public TimeSpan? OptionalDuration(string key, TimeSpan least, TimeSpan most) => Find(key) is { } node ? Scalars.Duration(node, least, most, problems) : null;

    public TimeSpan Duration(string key, TimeSpan least, TimeSpan most, TimeSpan fallback) => OptionalDuration(key, least, most) ?? fallback;

    public T Choice<T>(string key)
        where T : struct, Enum => Require(key, Scalars.OneOf(Names.Of<T>())) is { } node ? Scalars.Choice<T>(node, problems) ?? default : default;

    public T? OptionalChoice<T>(string key)
        where T : struct, Enum => Find(key) is { } node ? Scalars.Choice<T>(node, problems) : null;

    public MapBinder? Map(string key) => Of(Require(key, "a mapping (lines of key: value)"), problems);

    public MapBinder? OptionalMap(string key) => Of(Find(key), problems);

    public IReadOnlyList<YamlNode> List(string key, int least, int most) =>
        Require(key, $"a list of {least} to {most}") is { } node ? Scalars.List(node, least, most, problems) : [];

    public IReadOnlyList<YamlNode> OptionalList(string key, int least, int most) => Find(key) is { } node ? Scalars.List(node, least, most, problems) : [];

    /// <summary>Reports the first of those keys that is there although it has no meaning here. None of them is offered as a key that may stand here.</summary>
    /// <returns>Whether there were any.</returns>
    public bool Refuse(IEnumerable<string> keys, string reason, string allowed)
    {
        var found = keys.Where(k => map.Find(k) is not null).ToList();
        if (found.Count > 0 && map.Find(found[0]) is { } entry)
        {
            problems.Add(entry.Key.Place with { Field = entry.Value.Place.Field }, $"{entry.Key.Text} {reason}", $"\"{entry.Key.Text}\"", allowed);
        }

        refused.AddRange(found);
        return found.Count > 0;
    }

    /// <summary>Leaves keys alone that another problem makes meaningless.</summary>
    public void Ignore(IEnumerable<string> keys) => refused.AddRange(keys);

    /// <summary>Reports every key that was never asked for.</summary>
    public void Finish()
    {
        foreach (var entry in map.Entries.Where(e => !known.Contains(e.Key.Text) && !refused.Contains(e.Key.Text)))
        {
            var free = known.Distinct().Where(k => map.Find(k) is null).ToList();
            problems.Add(entry.Key.Place with { Field = entry.Value.Place.Field }, $"there is no such key{Suggestion.For(entry.Key.Text, free)}", $"\"{entry.Key.Text}\"", string.Join(", ", known.Distinct()));
        }
    }
}
