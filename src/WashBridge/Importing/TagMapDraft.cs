using System.Text;
using WashBridge.Configuration;
using WashBridge.Configuration.Binding;
using WashBridge.Configuration.Yaml;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Importing;

/// <summary>A tag map made by guessing. Tags that the loader would refuse stand in it as comments, with the reason.</summary>
/// <param name="Text">The YAML.</param>
/// <param name="Mapped">Drafts that became tags.</param>
/// <param name="Open">Drafts that a person must complete.</param>
internal sealed record TagMapDraft(string Text, int Mapped, int Open)
{
    /// <summary>Of the list that a controller's engineer exported.</summary>
    public static TagMapDraft Of(TagList list, string title, int addressBase, ModbusTable? standard)
    {
        var heading = new StringBuilder();
        heading.Append($"# Made from {title}. Columns: {string.Join(", ", list.Headings.OrderBy(h => h.Key).Select(h => $"{TagList.Key(h.Key)} = {h.Value}"))}.\n");
        heading.Append("# Every guess is named above its tag: check each against the controller's documents.\n");
        heading.Append("# Rows left open stand as comments: put a value for every question mark and take the # away.\n");
        heading.Append($"address-base: {addressBase}\n");
        heading.Append("# word-order: high-first or low-first, once you know it; the Modbus specification defines none.\n");
        return Of([.. list.Rows.Select(r => TagDraft.Of(r, addressBase, standard))], heading.ToString(), isOpcUa: false);
    }

    /// <param name="drafts">In the order of the map.</param>
    /// <param name="heading">The map down to its tags.</param>
    /// <param name="isOpcUa">For which protocol the map is.</param>
    public static TagMapDraft Of(IReadOnlyList<TagDraft> drafts, string heading, bool isOpcUa)
    {
        // The loader judges the map as it will later. Each round leaves at least one tag open, so that the rounds come to an end.
        while (true)
        {
            var text = Write(drafts, heading);
            var refused = Refused(text, drafts, isOpcUa);
            if (refused.Count == 0)
            {
                var open = drafts.Count(d => d.Open.Count > 0);
                return new TagMapDraft(text, drafts.Count - open, open);
            }

            drafts = [.. drafts.Select((d, i) => refused.TryGetValue(i, out var reasons) ? d with { Open = reasons } : d)];
        }
    }

    private static string Write(IReadOnlyList<TagDraft> drafts, string heading)
    {
        var text = new StringBuilder();
        text.Append("# yaml-language-server: $schema=../schema/tag-map.schema.json\n");
        text.Append(heading);
        text.Append("tags:\n");
        foreach (var draft in drafts)
        {
            var isOpen = draft.Open.Count > 0;
            text.Append($"  # {(isOpen ? $"OPEN, {draft.Title}" : $"{char.ToUpperInvariant(draft.Title[0])}{draft.Title[1..]}").Printable()}\n");
            foreach (var note in draft.Guesses.Select(g => "    " + g).Concat(draft.Open.Select(o => "    open: " + o)))
            {
                text.Append($"  #{note.Printable()}\n");
            }

            text.Append($"  {(isOpen ? "# " : "")}{draft.Line}\n");
        }

        return text.ToString();
    }

    /// <summary>Which tags the loader refuses, by position, and why.</summary>
    private static Dictionary<int, IReadOnlyList<string>> Refused(string text, IReadOnlyList<TagDraft> drafts, bool isOpcUa)
    {
        var used = drafts.Index().Where(d => d.Item.Open.Count == 0).Select(d => d.Index).ToList();
        var problems = new ProblemList();
        if (used.Count > 0 && MapBinder.Of(YamlReader.Read("map", text, problems), problems) is { } map)
        {
            PollGroup[] groups = [new(0, "a", TimeSpan.Zero, TimeSpan.Zero), new(1, "b", TimeSpan.Zero, TimeSpan.Zero)];
            TagMapBinder.Bind(map, new TagContext("w", WasherBinder.MaxStations, groups, isOpcUa));
        }

        return problems.Sorted([])
            .Select(p => (Tag: Position(p.Place.Field), Problem: p))
            .Where(p => p.Tag >= 0)
            .GroupBy(p => used[p.Tag])
            .ToDictionary(g => g.Key, g => (IReadOnlyList<string>)[.. g.Select(p => $"{p.Problem.Message}{(p.Problem.Allowed.Length > 0 ? $"; allowed: {p.Problem.Allowed}" : "")}")]);
    }

    /// <summary>From <c>tags[7].address</c>: 7.</summary>
    private static int Position(string field) =>
        field.StartsWith("tags[", StringComparison.Ordinal) ? int.Parse(field.AsSpan(5, field.IndexOf(']', StringComparison.Ordinal) - 5)) : -1;
}
