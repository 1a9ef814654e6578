using WashBridge.Configuration.Yaml;

namespace WashBridge.Configuration.Binding;

/// <summary>An InfluxDB server to which events are forwarded.</summary>
internal static class InfluxBinder
{
    private const string UrlForm = "http:// or https:// and a host, without user name, password or query";

    public static InfluxConfiguration Bind(MapBinder map, SourceFiles sources)
    {
        var influx = new InfluxConfiguration
        {
            Id = map.Text("id", TextForms.Id),
            Url = Url(map),
            Api = map.Integer("api", 1, 2),
            Bucket = map.Text("bucket", TextForms.Line),
            Organisation = map.OptionalText("organisation", TextForms.Line),
            RetentionPolicy = map.OptionalText("retention-policy", TextForms.Line),
            User = map.OptionalText("user", TextForms.Line),
            Secret = SecretBinder.Bind(map.Find("secret"), sources),
            Samples = map.Flag("samples", false),
        };
        map.Finish();
        CheckApi(map, influx);
        return influx;
    }

    private static Uri Url(MapBinder map)
    {
        var fallback = new Uri("http://localhost");
        var text = map.Text("url", TextForms.Line);
        if (text.Length == 0)
        {
            return fallback;
        }

        var url = Uri.TryCreate(text, UriKind.Absolute, out var parsed) && parsed.Scheme is "http" or "https" && parsed!.Query.Length == 0 ? parsed : null;
        if (url is { UserInfo.Length: > 0 })
        {
            map.Problems.Add(map.PlaceOf("url"), "a user name or password must not stand in an address: use the keys user and secret", "an address with a user (not shown)", UrlForm);
            return fallback;
        }

        if (url is null)
        {
            map.Problems.Add(map.PlaceOf("url"), "this is no address of a server", $"\"{text}\"", UrlForm);
        }

        return url ?? fallback;
    }

    /// <summary>Each interface has settings that the other ignores; one that would be ignored is a mistake.</summary>
    private static void CheckApi(MapBinder map, InfluxConfiguration influx)
    {
        if (map.Node.Find("api")?.Value is not YamlScalar { Text: "1" or "2" })
        {
            return;
        }

        if (influx.Api == 2 && map.Node.Find("organisation") is null)
        {
            map.Problems.Add(map.PlaceOf("organisation"), "the key organisation is missing", "", "the organisation that owns the bucket, since api is 2");
        }

        foreach (var key in influx.Api == 2 ? new[] { "retention-policy", "user" } : ["organisation"])
        {
            if (map.Node.Find(key) is { } entry)
            {
                map.Problems.Add(entry.Value, $"{key} means nothing when api is {influx.Api}", $"leave it out, or set api to {3 - influx.Api}");
            }
        }

        if (influx.Api == 1 && (map.Node.Find("user") is null) != (map.Node.Find("secret") is null))
        {
            var missing = map.Node.Find("user") is null ? "user" : "secret";
            map.Problems.Add(map.PlaceOf(missing), $"the key {missing} is missing", "", "user and secret together, or neither");
        }
    }
}
