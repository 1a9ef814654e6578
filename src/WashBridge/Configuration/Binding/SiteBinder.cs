using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>The site file.</summary>
internal static class SiteBinder
{
    public const int MaxWashers = 250;
    public const int MaxInflux = 8;
    public const int MaxMqtt = 8;

    public static Site Bind(MapBinder map, SourceFiles sources)
    {
        var (id, title) = (map.Text("site", TextForms.Id), map.Text("title", TextForms.Line));
        var zone = Zone(map);
        var site = new Site
        {
            Id = id,
            Title = title,
            Zone = zone,
            Shifts = ShiftBinder.Bind(map, zone),
            Washers = Washers(map, sources),
            Store = Store(map.Map("store")),
            Influx = [.. map.OptionalList("influx", 0, MaxInflux).Select(n => MapBinder.Of(n, sources.Problems)).OfType<MapBinder>().Select(m => InfluxBinder.Bind(m, sources))],
            Mqtt = [.. map.OptionalList("mqtt", 0, MaxMqtt).Select(n => MapBinder.Of(n, sources.Problems)).OfType<MapBinder>().Select(m => MqttBinder.Bind(m, id, sources))],
            Http = map.OptionalMap("http") is { } http ? HttpBinder.Bind(http, sources) : null,
            Pair = PairBinder.Bind(map.OptionalMap("pair"), map.Node.Find("http") is not null, sources),
            OpcUa = OpcUaBinder.Bind(map.OptionalMap("opc-ua"), map.Place.File, Id(map), sources),
            Telemetry = TelemetryBinder.Bind(map.OptionalMap("telemetry"), sources),
            Logging = LoggingBinder.Bind(map.OptionalMap("logging")),
        };
        map.Finish();
        Unique.Check(map.Node.Find("influx")?.Value, "id", sources.Problems);
        Unique.Check(map.Node.Find("mqtt")?.Value, "id", sources.Problems);
        return site;
    }

    private static string Id(MapBinder map) => (map.Node.Find("site")?.Value as YamlScalar)?.Text ?? "";

    private static TimeZoneInfo Zone(MapBinder map)
    {
        var name = map.Text("time-zone", TextForms.Line);
        if (name.Length == 0)
        {
            return TimeZoneInfo.Utc;
        }

        if (TimeZoneInfo.TryFindSystemTimeZoneById(name, out var zone))
        {
            return zone;
        }

        var near = Suggestion.For(name, TimeZoneInfo.GetSystemTimeZones().Select(z => z.Id));
        map.Problems.Add(map.PlaceOf("time-zone"), $"this machine knows no such time zone{near}", $"\"{name}\"", "an IANA name such as Europe/Dublin, or UTC");
        return TimeZoneInfo.Utc;
    }

    private static List<WasherConfiguration> Washers(MapBinder map, SourceFiles sources)
    {
        var washers = new List<WasherConfiguration>();
        var references = new Dictionary<string, YamlNode>();
        var recipes = new RecipeShelf(sources);
        foreach (var reference in map.List("washers", 1, MaxWashers))
        {
            if (sources.ReadReferenced(reference) is not { } file)
            {
                continue;
            }

            var washer = WasherBinder.Bind(file, sources, recipes);
            if (washer.Model.Washer.Length > 0 && !references.TryAdd(washer.Model.Washer, reference))
            {
                var first = references[washer.Model.Washer].Place.Line;
                sources.Problems.Add(reference.Place, $"the washer of this file has the same id as that of line {first}", $"\"{washer.Model.Washer}\"", "each washer id once");
            }

            washers.Add(washer);
        }

        return washers;
    }

    private static StoreConfiguration Store(MapBinder? map)
    {
        if (map is null)
        {
            return new StoreConfiguration { Path = "" };
        }

        var store = new StoreConfiguration
        {
            Path = map.Text("path", TextForms.Line) is { Length: > 0 } path ? SourceFiles.Resolve(map.Place.File, path) : "",
            Retention = map.OptionalDuration("keep-samples", TimeSpan.FromDays(1), TimeSpan.FromDays(36_500)),
        };
        map.Finish();
        return store;
    }
}
