using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Configuration.Binding;

/// <summary>What a tag map must fit: the washer that uses it.</summary>
/// <param name="Washer">Its id.</param>
/// <param name="Stations">How many it has.</param>
/// <param name="Groups">Its poll groups; empty if they could not be understood.</param>
internal sealed record TagContext(string Washer, int Stations, IReadOnlyList<PollGroup> Groups);

/// <param name="Tags">Those that could be understood.</param>
/// <param name="IsComplete">False if there are others.</param>
internal sealed record BoundTags(IReadOnlyList<BoundTag> Tags, bool IsComplete);

/// <summary>A tag and the mapping it came from.</summary>
internal sealed record BoundTag(Tag Tag, MapBinder Map);

/// <summary>A tag map: how controller addresses become signals.</summary>
internal static class TagMapBinder
{
    public const int MaxTags = 2_000;

    public static BoundTags Bind(MapBinder map, TagContext context)
    {
        var before = map.Problems.Count;
        map.OptionalText("title", TextForms.Line);
        var defaults = new PointDefaults(
            map.Integer("address-base", 0, 1),
            map.OptionalChoice<WordOrder>("word-order"),
            map.OptionalChoice<ByteOrder>("byte-order") ?? ByteOrder.HighFirst);
        var tags = new List<BoundTag>();
        foreach (var node in map.List("tags", 1, MaxTags))
        {
            if (MapBinder.Of(node, map.Problems) is { } entry && TagBinder.Bind(entry, defaults, context) is { } tag)
            {
                tags.Add(new BoundTag(tag, entry));
            }
        }

        map.Finish();
        CheckRepeated(tags);
        CheckOverlaps(tags);
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

    /// <summary>
    /// Two values that share registers without being the same ones: one of the addresses or types is wrong. Single bits may lie within a
    /// status word that is mapped too.
    /// </summary>
    private static void CheckOverlaps(List<BoundTag> tags)
    {
        BoundTag? widest = null;
        foreach (var next in tags.Where(t => t.Tag.Point.Type != RegisterType.Bit).OrderBy(t => t.Tag.Point.Table).ThenBy(t => t.Tag.Point.Address))
        {
            if (widest is not null && widest.Tag.Point.Table == next.Tag.Point.Table && EndOf(widest) > next.Tag.Point.Address)
            {
                ReportOverlap(widest, next);
            }

            widest = widest is not null && widest.Tag.Point.Table == next.Tag.Point.Table && EndOf(widest) > EndOf(next) ? widest : next;
        }
    }

    private static void ReportOverlap(BoundTag first, BoundTag second)
    {
        if (first.Tag.Point.Address != second.Tag.Point.Address || EndOf(first) != EndOf(second))
        {
            second.Map.Problems.Add(
                second.Map.PlaceOf("address"),
                $"this overlaps {first.Tag.Signal}, which takes {RegisterCodec.Width(first.Tag.Point)} registers (line {first.Map.Place.Line})",
                $"{Names.NameOf(second.Tag.Point.Type)} at protocol address {second.Tag.Point.Address}",
                $"an address outside {first.Tag.Point.Address} to {EndOf(first) - 1}, or another type");
        }
    }

    private static int EndOf(BoundTag tag) => tag.Tag.Point.Address + RegisterCodec.Width(tag.Tag.Point);
}
