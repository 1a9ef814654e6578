using System.Net;

namespace WashBridge.Configuration.Binding;

/// <summary>An MQTT broker to which Sparkplug messages go.</summary>
internal static class MqttBinder
{
    private const string UrlForm = "mqtt:// or mqtts://, a host, and a port where it is not 1883 or 8883; nothing else";

    public static MqttConfiguration Bind(MapBinder map, string site, SourceFiles sources)
    {
        var (host, port, isTls) = Address(map);
        var mqtt = new MqttConfiguration
        {
            Id = map.Text("id", TextForms.Id),
            Host = host,
            Port = port,
            Tls = isTls,
            Authorities = AuthoritiesBinder.Bind(map, "the broker"),
            Certificate = TlsBinder.Bind(map, sources),
            User = map.OptionalText("user", TextForms.Line),
            Secret = SecretBinder.Bind(map.Find("secret"), sources),
            Group = map.OptionalText("group", TextForms.Sparkplug) ?? site,
            EdgeNode = map.OptionalText("edge-node", TextForms.Sparkplug) ?? "washbridge",
            PrimaryHost = map.OptionalText("primary-host", TextForms.Sparkplug),
            StateTopics = map.Flag("state-topics", false),
        };
        map.Finish();
        Check(map, mqtt, sources);
        return mqtt;
    }

    private static (string Host, int Port, bool IsTls) Address(MapBinder map)
    {
        var text = map.Text("url", TextForms.Line);
        if (text.Length == 0)
        {
            return ("localhost", 1883, false);
        }

        if (Uri.TryCreate(text, UriKind.Absolute, out var url) && url.Scheme is "mqtt" or "mqtts" && url!.Host.Length > 0)
        {
            if (url.UserInfo.Length > 0)
            {
                map.Problems.Add(map.PlaceOf("url"), "a user name or password must not stand in an address: use the keys user and secret", "an address with a user (not shown)", UrlForm);
                return ("localhost", 1883, false);
            }

            if (url.PathAndQuery is "" or "/" && url.Fragment.Length == 0)
            {
                var isTls = url.Scheme == "mqtts";
                return (url.IdnHost, url.Port > 0 ? url.Port : isTls ? 8883 : 1883, isTls);
            }
        }

        map.Problems.Add(map.PlaceOf("url"), "this is no address of a broker", $"\"{text}\"", UrlForm);
        return ("localhost", 1883, false);
    }

    private static void Check(MapBinder map, MqttConfiguration mqtt, SourceFiles sources)
    {
        if ((map.Node.Find("user") is null) != (map.Node.Find("secret") is null))
        {
            var missing = map.Node.Find("user") is null ? "user" : "secret";
            map.Problems.Add(map.PlaceOf(missing), $"the key {missing} is missing", "", "user and secret together, or neither");
        }

        if (mqtt.Tls)
        {
            return;
        }

        foreach (var key in new[] { "ca", "certificate", "pfx" })
        {
            if (map.Node.Find(key) is { } entry)
            {
                map.Problems.Add(entry.Value, $"{key} means nothing without TLS", "leave it out, or write mqtts:// in url");
            }
        }

        if (mqtt.Host != "localhost" && !(IPAddress.TryParse(mqtt.Host.Trim('[', ']'), out var address) && IPAddress.IsLoopback(address)))
        {
            sources.Warnings.Add(
                map.PlaceOf("url"),
                "nothing protects this connection: whoever reaches the network can read along, the password too, and speak in the broker's name",
                mqtt.Address,
                "mqtts://");
        }
    }
}
