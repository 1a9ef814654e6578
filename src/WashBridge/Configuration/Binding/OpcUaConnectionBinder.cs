using System.Text.RegularExpressions;
using WashBridge.Configuration.Yaml;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Configuration.Binding;

/// <summary>How a controller is reached by OPC UA.</summary>
internal static partial class OpcUaConnectionBinder
{
    private const int StandardPort = 4840;
    private const string EndpointForm = "opc.tcp://HOST:PORT, with /PATH behind it where the server has one";

    private static readonly TextForm EndpointText = TextForms.Line with { Description = EndpointForm };

    public static TextForm UriForm { get; } = new(UriPattern(), "a URI such as urn:example:washer-3, without blanks and of ASCII characters only");

    public static IReadOnlyList<string> AllowedExceptions { get; } = [.. Names.Of<CertificateExceptions>().Where(n => n != "none")];

    public static OpcUaConnection Bind(MapBinder map, SourceFiles sources)
    {
        var (policy, mode) = Security(map);
        var connection = new OpcUaConnection
        {
            Endpoint = Endpoint(map),
            Policy = policy,
            Mode = mode,
            Identity = IdentityBinder.Bind(map, mode, sources),
            ServerUri = map.OptionalText("server-uri", UriForm),
            Exceptions = Exceptions(map, sources),
            Timeout = map.Duration("timeout", TimeSpan.FromMilliseconds(300), TimeSpan.FromSeconds(60), TimeSpan.FromSeconds(3)),
            SessionTimeout = map.Duration("session-timeout", TimeSpan.FromSeconds(10), TimeSpan.FromHours(1), TimeSpan.FromSeconds(60)),
        };
        if (connection.SessionTimeout < 2 * connection.Timeout)
        {
            map.Problems.Add(map.PlaceOf("session-timeout"), $"a session would end while a request of it may still wait, for {Amounts.Write(connection.Timeout)}", Amounts.Write(connection.SessionTimeout), $"at least {Amounts.Write(2 * connection.Timeout)}");
        }

        if (mode == MessageSecurityMode.None)
        {
            sources.Warnings.Add(map.PlaceOf("security-mode"), "nothing protects this connection: whoever reaches the network can read along, and send values in the controller's name", "None", "");
        }

        return connection;
    }

    private static (SecurityPolicy? Policy, MessageSecurityMode Mode) Security(MapBinder map)
    {
        var policy = SecurityNames.Policy(map.Find("security-policy"), map.Problems);
        var mode = SecurityNames.Mode(map.Find("security-mode"), map.Problems) ?? MessageSecurityMode.SignAndEncrypt;
        if (policy is { IsNone: true } && mode != MessageSecurityMode.None)
        {
            map.Problems.Add(map.PlaceOf("security-mode"), "the security policy None protects nothing, and this mode asks for protection", $"{mode}", "security-mode: None to do without protection knowingly, or another security-policy");
        }
        else if (policy is { IsNone: false } && mode == MessageSecurityMode.None)
        {
            map.Problems.Add(map.PlaceOf("security-policy"), "with security-mode None no policy protects anything", policy.Name, "leave it out, or another security-mode");
        }

        return (mode == MessageSecurityMode.None ? SecurityPolicy.None : policy, mode);
    }

    private static CertificateExceptions Exceptions(MapBinder map, SourceFiles sources)
    {
        var all = CertificateExceptions.None;
        foreach (var node in map.OptionalList("allow", 0, AllowedExceptions.Count))
        {
            var name = (node as YamlScalar)?.Text ?? "";
            if (!AllowedExceptions.Contains(name))
            {
                map.Problems.Add(node, $"there is no such exception for a certificate{Suggestion.For(name, AllowedExceptions)}", Scalars.OneOf(AllowedExceptions));
                continue;
            }

            all |= Names.Parse<CertificateExceptions>(name)!.Value;
            sources.Warnings.Add(node.Place, "a server whose certificate should be refused for this reason is let pass", name, "");
        }

        return all;
    }

    private static Uri Endpoint(MapBinder map)
    {
        var fallback = new Uri("opc.tcp://localhost:4840");
        var text = map.Text("endpoint", EndpointText);
        if (text.Length == 0)
        {
            return fallback;
        }

        if (Uri.TryCreate(text, UriKind.Absolute, out var uri) && uri is { Scheme: "opc.tcp", UserInfo: "", Query: "", Fragment: "", Host.Length: > 0 } && TextForms.Host.Pattern.IsMatch(uri.DnsSafeHost))
        {
            return uri.Port > 0 ? uri : new UriBuilder(uri) { Port = StandardPort }.Uri;
        }

        if (uri is { UserInfo.Length: > 0 })
        {
            map.Problems.Add(map.PlaceOf("endpoint"), "a user name or password must not stand in an address: use the keys user and secret", "an address with a user (not shown)", EndpointForm);
        }
        else
        {
            map.Problems.Add(map.PlaceOf("endpoint"), "this is no address of an OPC UA server", $"\"{text}\"", EndpointForm);
        }

        return fallback;
    }

    [GeneratedRegex(@"^[A-Za-z][A-Za-z0-9+.-]*:[!-~]{1,400}\z")]
    private static partial Regex UriPattern();
}
