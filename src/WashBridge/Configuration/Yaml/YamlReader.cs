using YamlDotNet.Core;
using YamlDotNet.Core.Events;

namespace WashBridge.Configuration.Yaml;

/// <summary>
/// Builds a tree that knows its lines from the parser's events. The library's own tree gives up at the first repeated key; this one reports
/// it and reads on. Anchors, aliases and tags are refused: a value is written where it holds.
/// </summary>
internal sealed class YamlReader
{
    private const int MaxDepth = 16;

    private readonly string file;
    private readonly ProblemList problems;
    private readonly Parser parser;

    private YamlReader(string file, TextReader text, ProblemList problems)
    {
        this.file = file;
        this.problems = problems;
        parser = new Parser(text);
    }

    /// <returns>The document's root, or null after a problem that leaves nothing to look at.</returns>
    public static YamlNode? Read(string file, string text, ProblemList problems)
    {
        using var reader = new StringReader(text);
        var yaml = new YamlReader(file, reader, problems);
        try
        {
            return yaml.ReadDocument();
        }
        catch (YamlException e)
        {
            Refuse(e.Start, e.Message);
            return null;
        }
        catch (InvalidOperationException)
        {
            // The library's own slip, where a list or mapping is left open above plain text.
            Refuse(yaml.parser.Current?.End ?? Mark.Empty, "a bracket that is opened here is not closed");
            return null;
        }

        void Refuse(Mark at, string why) =>
            problems.Add(new Place(file, (int)at.Line, (int)at.Column, ""), $"this cannot be read as YAML: {why}", "", "a YAML document (mind indentation by spaces, and quotes around text that holds ': ' or '#')");
    }

    private YamlNode? ReadDocument()
    {
        parser.MoveNext();
        parser.MoveNext();
        if (parser.Current is not DocumentStart)
        {
            problems.Add(new Place(file, 1, 1, ""), "the file is empty", "", "a mapping");
            return null;
        }

        parser.MoveNext();
        var root = ReadNode("", 0);
        parser.MoveNext();
        if (parser.Current is DocumentStart second)
        {
            problems.Add(PlaceOf(second, ""), "a second document begins here", "---", "one document a file");
        }

        return root;
    }

    /// <summary>Reads the node at the current event and moves past it.</summary>
    private YamlNode ReadNode(string field, int depth)
    {
        var place = PlaceOf(parser.Current!, field);
        Refuse(place);
        if (depth > MaxDepth)
        {
            throw new YamlException(parser.Current!.Start, parser.Current.End, $"nested deeper than {MaxDepth} levels");
        }

        switch (parser.Current)
        {
            case MappingStart:
                return ReadMapping(place, depth);
            case SequenceStart:
                return ReadList(place, depth);
            case Scalar scalar:
                parser.MoveNext();
                return new YamlScalar(place, scalar.Value, scalar.Style == ScalarStyle.Plain ? CoreSchema.Resolve(scalar.Value) : ScalarKind.Text);
            default:
                parser.MoveNext();
                return new YamlScalar(place, "", ScalarKind.Null);
        }
    }

    private YamlMapping ReadMapping(Place place, int depth)
    {
        parser.MoveNext();
        var entries = new List<YamlEntry>();
        while (parser.Current is not MappingEnd)
        {
            var keyPlace = PlaceOf(parser.Current!, place.Field);
            var key = ReadNode(place.Field, depth + 1) as YamlScalar;
            if (key is null)
            {
                problems.Add(keyPlace, "a key must be plain text", "a mapping or list", "a name");
            }

            var value = ReadNode(Join(place.Field, key?.Text ?? "?"), depth + 1);
            if (key is not null && entries.Find(e => e.Key.Text == key.Text) is { } first)
            {
                problems.Add(keyPlace with { Field = value.Place.Field }, $"the key is given twice, first in line {first.Key.Place.Line}", $"\"{key.Text}\"", "each key once");
            }
            else if (key is not null)
            {
                entries.Add(new YamlEntry(key, value));
            }
        }

        parser.MoveNext();
        return new YamlMapping(place, entries);
    }

    private YamlList ReadList(Place place, int depth)
    {
        parser.MoveNext();
        var items = new List<YamlNode>();
        while (parser.Current is not SequenceEnd)
        {
            items.Add(ReadNode($"{place.Field}[{items.Count}]", depth + 1));
        }

        parser.MoveNext();
        return new YamlList(place, items);
    }

    private void Refuse(Place place)
    {
        if (parser.Current is AnchorAlias alias)
        {
            problems.Add(place, "aliases are not understood", $"*{alias.Value}", "the value itself");
        }
        else if (parser.Current is NodeEvent { Anchor.IsEmpty: false } anchored)
        {
            problems.Add(place, "anchors are not understood", $"&{anchored.Anchor}", "the value without an anchor");
        }
        else if (parser.Current is NodeEvent { Tag.IsEmpty: false } tagged)
        {
            problems.Add(place, "YAML tags are not understood", tagged.Tag.ToString(), "the value without a tag");
        }
    }

    private Place PlaceOf(ParsingEvent at, string field) => new(file, (int)at.Start.Line, (int)at.Start.Column, field);

    private static string Join(string field, string key) => field.Length == 0 ? key : $"{field}.{key}";
}
