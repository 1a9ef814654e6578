using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>The program as an OPC UA application.</summary>
internal static class OpcUaBinder
{
    public const int MaxHostNames = 20;

    /// <param name="map">Null: the section is left out.</param>
    /// <param name="siteFile">Beside it is the usual folder of certificates.</param>
    /// <param name="siteId">Gives the usual application URI. It must not follow from the machine: a new container would be a stranger to every controller.</param>
    public static OpcUaConfiguration Bind(MapBinder? map, string siteFile, string siteId, SourceFiles sources)
    {
        var application = new OpcUaConfiguration { Pki = SourceFiles.Resolve(siteFile, "pki"), ApplicationUri = $"urn:washbridge:{siteId}" };
        if (map is null)
        {
            return application;
        }

        application = application with
        {
            Pki = map.OptionalText("pki", TextForms.Line) is { } pki ? SourceFiles.Resolve(siteFile, pki) : application.Pki,
            ApplicationName = map.OptionalText("application-name", TextForms.Line) ?? application.ApplicationName,
            ApplicationUri = ApplicationUri(map) ?? application.ApplicationUri,
            HostNames = [.. map.OptionalList("host-names", 1, MaxHostNames).Select(n => HostName(n, sources.Problems)).OfType<string>()],
            Server = map.OptionalMap("server") is { } server ? OpcUaServerBinder.Bind(server, sources) : null,
        };
        map.Finish();
        return application;
    }

    /// <summary>Peers compare it letter by letter, and some take it apart: it must be a URI in full.</summary>
    private static string? ApplicationUri(MapBinder map)
    {
        var text = map.OptionalText("application-uri", OpcUaConnectionBinder.UriForm);
        if (text is null || Uri.TryCreate(text, UriKind.Absolute, out _))
        {
            return text;
        }

        map.Problems.Add(map.PlaceOf("application-uri"), "this is no URI", $"\"{text}\"", OpcUaConnectionBinder.UriForm.Description);
        return null;
    }

    private static string? HostName(YamlNode node, ProblemList problems)
    {
        var text = Scalars.Text(node, TextForms.Host, problems);
        if (text is null || Uri.CheckHostName(text) != UriHostNameType.Unknown)
        {
            return text;
        }

        problems.Add(node, "this is neither a host name nor an IP address", TextForms.Host.Description);
        return null;
    }
}
