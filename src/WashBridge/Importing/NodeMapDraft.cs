using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using WashBridge.Browsing;
using WashBridge.Checking;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Importing;

/// <summary>A tag map of the variables that were found in an OPC UA server. Signals and units are guessed as for a list.</summary>
internal static partial class NodeMapDraft
{
    /// <param name="variables">In the order in which they are to stand.</param>
    /// <param name="namespaces">Of the server.</param>
    /// <param name="server">What it is called, for people.</param>
    public static TagMapDraft Of(IReadOnlyList<ListedVariable> variables, NamespaceTable namespaces, string server)
    {
        var names = NameNamespaces(variables, namespaces);
        var heading = new StringBuilder();
        heading.Append($"# Made by browsing {server.Printable()}.\n");
        heading.Append("# Every guess is named above its tag: check each against the controller's documents.\n");
        heading.Append("# Variables left open stand as comments: put a signal for the question mark and take the # away, or take the lines out.\n");
        if (names.Count > 0)
        {
            heading.Append("namespaces:\n");
            foreach (var (uri, name) in names)
            {
                heading.Append($"  {name}: {Quote(uri)}\n");
            }
        }

        return TagMapDraft.Of([.. variables.Select(v => Draft(v, names, namespaces))], heading.ToString(), isOpcUa: true);
    }

    private static TagDraft Draft(ListedVariable listed, Dictionary<string, string> names, NamespaceTable namespaces)
    {
        var (found, variable) = listed;
        var signal = SignalGuess.Read(string.Join(' ', found.Path), "");
        var definition = signal.Value?.Definition;
        var unit = definition is { Type: SignalType.Quantity } ? UnitCell.Read(variable.UnitName, definition.Unit) : Guess<UnitStep>.Of(new UnitStep(1, 0));
        var problem = Problem(definition, variable);
        (bool IsKnown, string Reason)[] guesses = [(signal.IsKnown, signal.Reason), (unit.IsKnown, unit.Reason)];
        return new TagDraft(
            $"{found}: {variable.TypeName}, {NodeList.ValueOf(variable)} {variable.UnitName}".TrimEnd(),
            Write(signal.Value, unit.Value ?? new UnitStep(1, 0), Node(variable.Node, names, namespaces)),
            [.. guesses.Where(g => g.IsKnown && g.Reason.Length > 0).Select(g => g.Reason)],
            [.. guesses.Where(g => !g.IsKnown).Select(g => g.Reason), .. problem is null ? [] : new[] { problem }]);
    }

    /// <summary>A variable that has no value now may have one later.</summary>
    private static string? Problem(SignalDefinition? definition, Variable variable) => definition is null || variable.Value.Status.IsBad ? null
        : NodeFit.Problem(definition.Type, new OpcUaSource(variable.Node), variable.Value.Value);

    private static string Write(ListSignal? signal, UnitStep unit, string node)
    {
        var fields = new List<string> { $"signal: {signal?.Definition.Name ?? "?"}" };
        if (signal?.Station is { } station)
        {
            fields.Add($"station: {station}");
        }

        fields.Add($"group: {(signal?.Definition.Type == SignalType.Quantity ? 1 : 0)}");
        fields.Add($"node: {Quote(node)}");
        if (signal?.Definition.Type == SignalType.Quantity && unit.Factor != 1)
        {
            fields.Add(string.Create(CultureInfo.InvariantCulture, $"scale: {unit.Factor:R}"));
        }

        if (signal?.Definition.Type == SignalType.Quantity && unit.Offset != 0)
        {
            fields.Add(string.Create(CultureInfo.InvariantCulture, $"offset: {unit.Offset:R}"));
        }

        return $"- {{{string.Join(", ", fields)}}}";
    }

    private static string Node(NodeId node, Dictionary<string, string> names, NamespaceTable namespaces) =>
        node.Namespace != 0 && namespaces.UriOf(node.Namespace) is { } uri && names.TryGetValue(uri, out var name) ? $"ns={name};{node.Identifier}" : namespaces.Portable(node);

    /// <summary>A short name for each namespace that is used: the last word of its URI, with a number where two have the same.</summary>
    private static Dictionary<string, string> NameNamespaces(IReadOnlyList<ListedVariable> variables, NamespaceTable namespaces)
    {
        var names = new Dictionary<string, string>();
        foreach (var uri in variables.Select(v => v.Variable.Node.Namespace).Where(n => n != 0).Distinct().Order().Select(namespaces.UriOf).OfType<string>().Where(u => !u.Contains(';', StringComparison.Ordinal)))
        {
            var last = Words().Matches(uri).Select(m => m.Value).LastOrDefault() is { } word ? word.ToLowerInvariant() : "n";
            var name = last;
            for (var i = 2; names.ContainsValue(name); i++)
            {
                name = $"{last}{i}";
            }

            names[uri] = name;
        }

        return names;
    }

    /// <summary>In quotes wherever YAML could take it for something else.</summary>
    private static string Quote(string text) => Plain().IsMatch(text) ? text : $"\"{text.Printable().Replace("\\", "\\\\", StringComparison.Ordinal).Replace("\"", "\\\"", StringComparison.Ordinal)}\"";

    [GeneratedRegex("[A-Za-z][A-Za-z0-9_-]{0,30}")]
    private static partial Regex Words();

    [GeneratedRegex(@"^[A-Za-z][A-Za-z0-9=;:/._-]*[A-Za-z0-9]\z")]
    private static partial Regex Plain();
}
