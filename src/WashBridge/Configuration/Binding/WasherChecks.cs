using WashBridge.Configuration.Yaml;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Configuration.Binding;

/// <summary>Where the parts of a washer's configuration stand.</summary>
internal sealed record WasherParts(MapBinder Washer, BoundProgramme Programme, IReadOnlyList<BoundTag> Tags, bool HasAllTags, IReadOnlyList<BoundRecipe> Recipes);

/// <summary>Whether the parts of a washer's configuration fit each other.</summary>
internal static class WasherChecks
{
    public static void Check(WasherConfiguration washer, WasherParts parts, ProblemList problems, ProblemList warnings)
    {
        var sequence = washer.Model.Sequence;
        CheckSequenceGroup(sequence, parts.Tags, problems);
        CheckSequenceSignals(sequence, parts, problems);
        CheckGapLimit(washer, parts.Washer);
        CheckWidths(washer.Connection as ModbusConnection, parts.Tags, problems);
        foreach (var recipe in parts.Recipes.Where(r => r.IsComplete))
        {
            RecipeChecks.Check(recipe, washer, parts.HasAllTags, parts.Programme.IsComplete, problems, warnings);
        }
    }

    /// <summary>The segmenter takes its position from one frame: all that tells it must be read together.</summary>
    private static void CheckSequenceGroup(SequenceRule sequence, IReadOnlyList<BoundTag> tags, ProblemList problems)
    {
        var used = sequence is StepRules rules ? rules.Rules.SelectMany(r => r.When.Keys).ToHashSet() : [];
        foreach (var (tag, map) in tags.Where(t => t.Tag.Group != 0))
        {
            if (tag.Signal.Name.StartsWith("sequence.", StringComparison.Ordinal) || used.Contains(tag.Signal.Name))
            {
                problems.Add(map.PlaceOf("group"), $"{tag.Signal.Name} tells where the programme is: it must be read in group 0", $"{tag.Group}", "0");
            }
        }
    }

    private static void CheckSequenceSignals(SequenceRule sequence, WasherParts parts, ProblemList problems)
    {
        if (!parts.HasAllTags)
        {
            return;
        }

        var mapped = parts.Tags.Select(t => t.Tag.Signal.Name).ToHashSet();
        var place = parts.Washer.Node.Find("sequence")?.Value;
        if (sequence is StepTable && !mapped.Contains("sequence.step"))
        {
            problems.Add(place!.Place with { Field = "sequence.step-table" }, "a step table needs the signal sequence.step, and the tag map has none", "", "a tag with signal: sequence.step, or step-rules");
        }

        foreach (var entry in Conditions(place).Where(e => !mapped.Contains(e.Key.Text)))
        {
            problems.Add(entry.Value.Place, $"the tag map has no {entry.Key.Text}{Suggestion.For(entry.Key.Text, mapped)}", $"\"{entry.Key.Text}\"", "a signal of the tag map");
        }
    }

    /// <summary>A value is read in one request, or its halves could be of different scans.</summary>
    private static void CheckWidths(ModbusConnection? connection, IReadOnlyList<BoundTag> tags, ProblemList problems)
    {
        foreach (var (tag, map) in connection is null ? [] : tags)
        {
            if (tag.Source is ModbusSource { Point: var point } && point.Type != RegisterType.Bit && RegisterCodec.Width(point) is var width && width > connection!.MaxRegisters)
            {
                problems.Add(map.PlaceOf("type"), $"the value takes {width} registers, more than one request to this washer may ask for (connection.max-registers)", Names.NameOf(point.Type), $"a value of at most {connection.MaxRegisters} registers, or a higher max-registers");
            }
        }
    }

    private static IEnumerable<YamlEntry> Conditions(YamlNode? sequence) =>
        ((sequence as YamlMapping)?.Find("step-rules")?.Value as YamlList)?.Items.OfType<YamlMapping>().Select(m => m.Find("when")?.Value).OfType<YamlMapping>().SelectMany(m => m.Entries).Where(e => SignalCatalogue.Find(e.Key.Text) is { Type: SignalType.Flag }) ?? [];

    /// <summary>A limit below two polls would call every late answer a gap, and nothing could be proven.</summary>
    private static void CheckGapLimit(WasherConfiguration washer, MapBinder map)
    {
        if (washer.Groups.FirstOrDefault(g => g.Number == 0) is { } group && washer.Model.GapLimit < 2 * group.Every)
        {
            map.Problems.Add(
                map.PlaceOf("gap-limit"),
                $"group 0 is read every {Amounts.Write(group.Every)}, so that every late answer would count as a gap",
                Amounts.Write(washer.Model.GapLimit),
                $"at least {Amounts.Write(2 * group.Every)}");
        }
    }
}
