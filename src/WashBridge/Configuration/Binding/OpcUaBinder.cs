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
            ApplicationUri = map.OptionalText("application-uri", OpcUaConnectionBinder.UriForm) ?? application.ApplicationUri,
            HostNames = [.. map.OptionalList("host-names", 1, MaxHostNames).Select(n => Scalars.Text(n, TextForms.Host, sources.Problems)).OfType<string>()],
            Server = map.OptionalMap("server") is { } server ? OpcUaServerBinder.Bind(server, sources) : null,
        };
        map.Finish();
        return application;
    }
}
