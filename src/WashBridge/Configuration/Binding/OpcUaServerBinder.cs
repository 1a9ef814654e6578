using System.Net;
using WashBridge.Configuration.Yaml;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Configuration.Binding;

/// <summary>Our own OPC UA server.</summary>
internal static class OpcUaServerBinder
{
    public const int StandardPort = 4840;

    public static OpcUaServerConfiguration Bind(MapBinder map, SourceFiles sources)
    {
        var server = new OpcUaServerConfiguration
        {
            Port = map.Integer("port", 1, 65_535, StandardPort),
            Listen = Listen(map),
            Policies = Policies(map) ?? OpcUaServerConfiguration.StandardPolicies,
            Modes = Modes(map) ?? OpcUaServerConfiguration.StandardModes,
            AllowAnonymous = map.Flag("anonymous", false),
            Users = OpcUaUserBinder.Bind(map, sources),
        };
        map.Finish();
        CheckAccess(map, server, sources);
        return server;
    }

    private static IPAddress Listen(MapBinder map)
    {
        var text = map.OptionalText("listen", TextForms.Host);
        if (text is null)
        {
            return IPAddress.Loopback;
        }

        if (IPAddress.TryParse(text, out var address))
        {
            return address;
        }

        map.Problems.Add(map.PlaceOf("listen"), "this is no IP address", $"\"{text}\"", "127.0.0.1 for this machine only, the address of one of its network interfaces, or 0.0.0.0 for all of them");
        return IPAddress.Loopback;
    }

    private static List<SecurityPolicy>? Policies(MapBinder map) => map.Node.Find("security-policies") is null
        ? Forget<SecurityPolicy>(map, "security-policies")
        : Distinct(map, "security-policies", SecurityNames.Policies.Count, SecurityNames.Policy) is var policies
            ? [.. policies.OrderByDescending(p => p.Strength)]
            : null;

    /// <summary>None is no mode of its own here: it comes with the policy None.</summary>
    private static List<MessageSecurityMode>? Modes(MapBinder map)
    {
        if (map.Node.Find("security-modes") is null)
        {
            return Forget<MessageSecurityMode>(map, "security-modes");
        }

        var modes = new List<MessageSecurityMode>();
        foreach (var node in map.OptionalList("security-modes", 1, 2))
        {
            if (SecurityNames.Mode(node, map.Problems) is not { } mode)
            {
                continue;
            }

            if (mode == MessageSecurityMode.None)
            {
                map.Problems.Add(node, "endpoints without security come with the policy None", "Sign, SignAndEncrypt; and None among the security-policies to do without");
            }

            modes.Add(mode);
        }

        return [.. modes.Distinct().OrderDescending()];
    }

    private static List<T> Distinct<T>(MapBinder map, string key, int most, Func<YamlNode?, ProblemList, T?> read)
        where T : class => [.. map.OptionalList(key, 1, most).Select(n => read(n, map.Problems)).OfType<T>().Distinct()];

    private static List<T>? Forget<T>(MapBinder map, string key)
    {
        map.Find(key);
        return null;
    }

    /// <summary>Nobody gets in by a default, and nothing leaves this machine unprotected.</summary>
    private static void CheckAccess(MapBinder map, OpcUaServerConfiguration server, SourceFiles sources)
    {
        var hasUsers = map.Node.Find("users")?.Value is YamlList { Items.Count: > 0 };
        if (!hasUsers && !server.AllowAnonymous)
        {
            map.Problems.Add(map.PlaceOf("users"), "nobody may read from the server", "no users", "a list of users; or, with listen: 127.0.0.1, anonymous: true");
        }

        var isOpen = server.Policies.Any(p => p.IsNone);
        if (!IPAddress.IsLoopback(server.Listen))
        {
            if (server.AllowAnonymous)
            {
                map.Problems.Add(map.PlaceOf("anonymous"), "only programs on this machine may read without a name, and the server listens on the network", "true", "leave it out and name users, or listen: 127.0.0.1");
            }

            if (isOpen)
            {
                map.Problems.Add(map.PlaceOf("security-policies"), "only programs on this machine may do without security, and the server listens on the network", "None", "other policies, or listen: 127.0.0.1");
            }
        }
        else if (isOpen)
        {
            sources.Warnings.Add(map.PlaceOf("security-policies"), "every program on this machine can read along on connections to the server that use no security", "None", "");
        }
    }
}
