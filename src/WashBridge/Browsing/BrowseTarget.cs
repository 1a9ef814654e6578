using WashBridge.Configuration;
using WashBridge.Configuration.Binding;
using WashBridge.Configuration.Yaml;

namespace WashBridge.Browsing;

/// <summary>Which server is browsed, and as whom.</summary>
/// <param name="Connection">How it is reached.</param>
/// <param name="Application">Who we are to it.</param>
/// <param name="Site">What the certificates command takes: the site file, or the folder of certificates where an address was given.</param>
internal sealed record BrowseTarget(OpcUaConnection Connection, OpcUaConfiguration Application, string Site)
{
    /// <summary>Who we are where there is no site.</summary>
    public static OpcUaConfiguration ApplicationOf(string pki) => new() { Pki = pki, ApplicationUri = "urn:washbridge:browse" };

    /// <summary>Null: what is wrong was written to <paramref name="errors"/>.</summary>
    public static BrowseTarget? Of(BrowseRequest asked, TextWriter errors) =>
        asked.Target.Contains("://", StringComparison.Ordinal) ? OfAddress(asked, errors) : OfSite(asked, errors);

    private static BrowseTarget? OfSite(BrowseRequest asked, TextWriter errors)
    {
        var loaded = ConfigurationLoader.Load(asked.Target);
        if (loaded.Site is not { } site)
        {
            return Refuse(errors, [.. loaded.Problems.Select(p => p.ToString())]);
        }

        if (asked.Mode is not null)
        {
            return Refuse(errors, "--security-mode belongs to an address; with a site file the washer's connection tells the mode");
        }

        var all = site.Washers.Where(w => w.Connection is OpcUaConnection).ToList();
        var names = all.Count == 0 ? "none of this site is read by OPC UA" : string.Join(", ", all.Select(w => w.Model.Washer));
        var chosen = all.Where(w => asked.Washer is null || w.Model.Washer == asked.Washer).ToList();
        return chosen.Count switch
        {
            1 => new BrowseTarget((OpcUaConnection)chosen[0].Connection, site.OpcUa, asked.Target),
            0 => Refuse(errors, $"--washer: no such washer is read by OPC UA{(asked.Washer is { } washer ? Suggestion.For(washer, all.Select(w => w.Model.Washer)) : "")}; found {asked.Washer ?? "nothing"}; allowed: {names}"),
            _ => Refuse(errors, $"--washer: several washers are read by OPC UA, and it must be told which; allowed: {names}"),
        };
    }

    private static BrowseTarget? OfAddress(BrowseRequest asked, TextWriter errors)
    {
        if (asked.Washer is not null)
        {
            return Refuse(errors, "--washer belongs to a site file; an address names the server itself");
        }

        // Read as a connection of a washer file would be, so that both accept the same and say the same.
        var place = new Place("command line", 1, 1, "");
        List<YamlEntry> entries = [Entry("endpoint", asked.Target)];
        if (asked.Mode is { } mode)
        {
            entries.Add(Entry("security-mode", mode));
        }

        var sources = new SourceFiles(_ => null);
        var connection = ConnectionBinder.Bind(new MapBinder(new YamlMapping(place, entries), sources.Problems), sources);
        if (sources.Problems.Count > 0 || connection is not OpcUaConnection opcUa)
        {
            return Refuse(errors, [.. sources.Problems.Sorted([]).Select(p => $"{p.Place.Field}: {p.Message}; found {p.Found}; allowed: {p.Allowed}")]);
        }

        return new BrowseTarget(opcUa, ApplicationOf(asked.Pki), asked.Pki);

        YamlEntry Entry(string key, string value) => new(new YamlScalar(place, key, ScalarKind.Text), new YamlScalar(place with { Field = key }, value, ScalarKind.Text));
    }

    private static BrowseTarget? Refuse(TextWriter errors, params string[] lines)
    {
        foreach (var line in lines)
        {
            errors.WriteLine(line);
        }

        return null;
    }
}
