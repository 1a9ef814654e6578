namespace WashBridge.Configuration.Binding;

/// <summary>What the service measures of itself, and who gets it.</summary>
internal static class TelemetryBinder
{
    public static readonly TimeSpan ShortestInterval = TimeSpan.FromSeconds(1);
    public static readonly TimeSpan LongestInterval = TimeSpan.FromHours(1);

    private const string EndpointForm = "http:// or https:// and a host, without user name, password or query";

    public static TelemetryConfiguration Bind(MapBinder? map, SourceFiles sources)
    {
        var standard = new TelemetryConfiguration();
        if (map is null)
        {
            return standard;
        }

        var telemetry = new TelemetryConfiguration
        {
            Metrics = map.Flag("metrics", standard.Metrics),
            Otlp = map.OptionalMap("otlp") is { } otlp ? Otlp(otlp, sources) : null,
        };
        map.Finish();
        return telemetry;
    }

    private static OtlpConfiguration Otlp(MapBinder map, SourceFiles sources)
    {
        var endpoint = Endpoint(map);
        var standard = new OtlpConfiguration(endpoint);
        var otlp = standard with
        {
            Protocol = map.OptionalChoice<OtlpProtocol>("protocol") ?? standard.Protocol,
            Every = map.Duration("every", ShortestInterval, LongestInterval, standard.Every),
            TraceShare = map.OptionalNumber("trace-share", 0, 1) ?? standard.TraceShare,
        };
        map.Finish();
        if (endpoint is { IsLoopback: false } && endpoint.Scheme == Uri.UriSchemeHttp)
        {
            sources.Warnings.Add(map.PlaceOf("endpoint"), "metrics and traces, with the names of washers, go over the network for all to read", $"{endpoint}", "https://, or a collector on this machine");
        }

        return otlp;
    }

    private static Uri Endpoint(MapBinder map)
    {
        var text = map.Text("endpoint", TextForms.Line);
        if (Uri.TryCreate(text, UriKind.Absolute, out var address) && address is { Scheme: "http" or "https", Query.Length: 0, Fragment.Length: 0, UserInfo.Length: 0 })
        {
            return address;
        }

        if (text.Length > 0)
        {
            map.Problems.Add(map.PlaceOf("endpoint"), "this is no address of a collector", address is { UserInfo.Length: > 0 } ? "an address with a user (not shown)" : $"\"{text}\"", EndpointForm);
        }

        return new Uri("http://localhost");
    }
}
