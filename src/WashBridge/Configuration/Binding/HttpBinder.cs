using System.Net;
using WashBridge.Web.Accounts;

namespace WashBridge.Configuration.Binding;

/// <summary>Whether those who reach the pages must say who they are.</summary>
internal enum LoginRule
{
    None = 0,
    Required = 1,
}

/// <summary>The pages: where they are served, by which names, with which certificate and to whom.</summary>
internal static class HttpBinder
{
    public const int MaxHostNames = 20;

    public static readonly TimeSpan ShortestSession = TimeSpan.FromMinutes(1);
    public static readonly TimeSpan LongestSession = TimeSpan.FromDays(90);

    public static HttpConfiguration Bind(MapBinder map, SourceFiles sources)
    {
        var listen = Listen(map);
        var isLocal = IPAddress.IsLoopback(listen);
        var login = map.OptionalChoice<LoginRule>("login");
        var http = new HttpConfiguration(map.Integer("port", 1, 65_535))
        {
            Listen = listen,
            Certificates = TlsBinder.Bind(map, sources),
            NeedsLogin = login == LoginRule.Required || !isLocal,
            HostNames = [.. map.OptionalList("host-names", 1, MaxHostNames).Select(n => Scalars.Text(n, TextForms.Host, map.Problems)).OfType<string>()],
            Session = Session(map.OptionalMap("session")),
            ShortestPassword = map.Integer("shortest-password", PasswordRules.StandardLeast, PasswordRules.HighestLeast, PasswordRules.StandardLeast),
            Approvals = map.Integer("approvals", 1, 2, 1),
            OpenIdConnect = map.OptionalMap("open-id-connect") is { } provider ? OpenIdConnectBinder.Bind(provider, sources) : null,
        };
        map.Finish();
        if (isLocal)
        {
            CheckLocal(map, http, sources);
        }
        else
        {
            CheckNetwork(map, http, login);
        }

        return http;
    }

    private static IPAddress Listen(MapBinder map)
    {
        if (map.OptionalText("listen", TextForms.Host) is not { } text)
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

    private static SessionLimits Session(MapBinder? map)
    {
        if (map is null)
        {
            return SessionLimits.Standard;
        }

        var limits = new SessionLimits(
            map.Duration("idle", ShortestSession, LongestSession, SessionLimits.Standard.Idle),
            map.Duration("longest", ShortestSession, LongestSession, SessionLimits.Standard.Longest));
        map.Finish();
        if (limits.Idle > limits.Longest)
        {
            map.Problems.Add(map.PlaceOf("idle"), "a session would end before it could be idle for so long", Amounts.Write(limits.Idle), $"at most {Amounts.Write(limits.Longest)}, the longest session");
        }

        return limits;
    }

    /// <summary>Nothing leaves this machine readable, and nobody comes in from elsewhere without saying who it is.</summary>
    private static void CheckNetwork(MapBinder map, HttpConfiguration http, LoginRule? login)
    {
        if (login == LoginRule.None)
        {
            map.Problems.Add(map.PlaceOf("login"), "only people at this machine may do without a login, and the pages are served on the network", "none", "required; or listen: 127.0.0.1");
        }

        if (map.Node.Find("certificate") is null && map.Node.Find("pfx") is null)
        {
            map.Problems.Add(map.PlaceOf("certificate"), "passwords and records would go over the network for all to read", $"listen: {http.Listen} without a certificate", "certificate and key, or pfx and pfx-secret; or listen: 127.0.0.1");
        }

        if (map.Node.Find("host-names") is null)
        {
            map.Problems.Add(map.PlaceOf("host-names"), "the key host-names is missing", "", "the names or addresses by which people reach the pages, since they are served on the network");
        }
    }

    private static void CheckLocal(MapBinder map, HttpConfiguration http, SourceFiles sources)
    {
        if (!http.NeedsLogin && map.Node.Find("open-id-connect") is { } provider)
        {
            map.Problems.Add(provider.Value, "nobody would be asked to log in", "login: required, or leave it out");
        }

        if (!http.NeedsLogin && http.Approvals == 2)
        {
            sources.Warnings.Add(map.PlaceOf("approvals"), "without a login nobody can tell whether two people approved or one with two names", "2", "login: required");
        }
    }
}
