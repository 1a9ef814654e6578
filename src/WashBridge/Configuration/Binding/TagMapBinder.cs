using WashBridge.Core.Signals;

namespace WashBridge.Configuration.Binding;

/// <summary>What a tag map must fit: the washer that uses it.</summary>
/// <param name="Washer">Its id.</param>
/// <param name="Stations">How many it has.</param>
/// <param name="Groups">Its poll groups; empty if they could not be understood.</param>
/// <param name="IsOpcUa">How it is read; null if that could not be understood.</param>
internal sealed record TagContext(string Washer, int Stations, IReadOnlyList<PollGroup> Groups, bool? IsOpcUa);

/// <param name="Tags">Those that could be understood.</param>
/// <param name="IsComplete">False if there are others.</param>
internal sealed record BoundTags(IReadOnlyList<BoundTag> Tags, bool IsComplete);

/// <summary>A tag and the mapping it came from.</summary>
internal sealed record BoundTag(Tag Tag, MapBinder Map);

/// <summary>A tag map: how what a controller holds becomes signals.</summary>
internal static class TagMapBinder
{
    public const int MaxTags = 2_000;

    public static BoundTags Bind(MapBinder map, TagContext context)
    {
        var before = map.Problems.Count;
        map.OptionalText("title", TextForms.Line);
        var sources = SourceBinder.Of(map, context.IsOpcUa ?? map.Node.Find("address-base") is null);
        var tags = new List<BoundTag>();
        foreach (var node in map.List("tags", 1, MaxTags))
        {
            if (MapBinder.Of(node, map.Problems) is { } entry && TagBinder.Bind(entry, sources, context) is { } tag)
            {
                tags.Add(new BoundTag(tag, entry));
            }
        }

        map.Finish();
        CheckRepeated(tags);
        RegisterOverlaps.Check(tags);
        return new BoundTags(tags, map.Problems.Count == before);
    }

    private static void CheckRepeated(List<BoundTag> tags)
    {
        var lines = new Dictionary<Signal, int>();
        foreach (var (tag, map) in tags)
        {
            var key = tag.Signal with { Unit = "" };
            if (!lines.TryAdd(key, map.Place.Line))
            {
                map.Problems.Add(map.PlaceOf("signal"), $"line {lines[key]} already maps this signal", $"\"{key}\"", "each signal of the washer, or of a station, once");
            }
        }
    }
}
