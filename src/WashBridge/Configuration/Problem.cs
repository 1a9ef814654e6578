using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration;

/// <summary>Something in the configuration that must be put right before the program runs with it.</summary>
/// <param name="Place">File, line, column and field.</param>
/// <param name="Message">What is wrong.</param>
/// <param name="Found">The value found; empty if none was.</param>
/// <param name="Allowed">The values allowed, or what to do; empty if the message says it.</param>
internal sealed record Problem(Place Place, string Message, string Found, string Allowed)
{
    /// <summary>One line, beginning <c>file:line:column:</c> as editors and terminals recognise it.</summary>
    public override string ToString()
    {
        var field = Place.Field.Length == 0 ? "" : $" {Place.Field}:";
        var found = Found.Length == 0 ? "" : $"; found {Found}";
        var allowed = Allowed.Length == 0 ? "" : $"; allowed: {Allowed}";
        return $"{Place.File}:{Place.Line}:{Place.Column}:{field} {Message}{found}{allowed}";
    }
}

/// <summary>Collects problems, so that a person sees all of them at once.</summary>
internal sealed class ProblemList
{
    private readonly List<Problem> problems = [];

    public int Count => problems.Count;

    public void Add(Place place, string message, string found, string allowed) => problems.Add(new Problem(place, message, found, allowed));

    /// <summary>By file in the order given, then by line; the same problem once, as where two washers share a file.</summary>
    public IReadOnlyList<Problem> Sorted(IReadOnlyList<string> files)
    {
        var order = files.Index().ToDictionary(f => f.Item, f => f.Index);
        return [.. problems.Distinct().OrderBy(p => order.GetValueOrDefault(p.Place.File, int.MaxValue)).ThenBy(p => p.Place.Line).ThenBy(p => p.Place.Column)];
    }

    public void Add(YamlNode node, string message, string allowed) => Add(node.Place, message, node.Description, allowed);
}
