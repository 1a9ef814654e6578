using System.Text.RegularExpressions;
using WashBridge.Core.Records;

namespace WashBridge.Configuration.Binding;

/// <summary>The site's identity provider.</summary>
internal static partial class OpenIdConnectBinder
{
    public const int MaxRoles = 50;
    public const int MaxScopes = 20;

    private const string AuthorityForm = "https:// and the provider's address, as in its discovery document; http:// on this machine only";

    private static readonly TextForm Scope = new(ScopePattern(), "a scope: 1 to 100 printable characters without blanks or quotes");

    public static ProviderConfiguration Bind(MapBinder map, SourceFiles sources)
    {
        var provider = new ProviderConfiguration
        {
            Authority = Authority(map),
            ClientId = map.Text("client-id", TextForms.Line),
            Secret = SecretBinder.Bind(map.Find("secret"), sources),
            RoleClaim = map.OptionalText("role-claim", TextForms.Line) ?? "roles",
            NameClaim = map.OptionalText("name-claim", TextForms.Line) ?? "name",
            Roles = Roles(map),
            Scopes = map.Node.Find("scopes") is null ? Standard(map) : [.. map.OptionalList("scopes", 1, MaxScopes).Select(n => Scalars.Text(n, Scope, map.Problems)).OfType<string>()],
        };
        map.Finish();
        return provider;
    }

    private static IReadOnlyList<string> Standard(MapBinder map)
    {
        map.Find("scopes");
        return ["profile"];
    }

    private static Uri Authority(MapBinder map)
    {
        var text = map.Text("authority", TextForms.Line);
        if (Uri.TryCreate(text, UriKind.Absolute, out var address) && address is { Query.Length: 0, Fragment.Length: 0, UserInfo.Length: 0 }
            && (address.Scheme == Uri.UriSchemeHttps || (address.Scheme == Uri.UriSchemeHttp && address.IsLoopback)))
        {
            return address;
        }

        if (text.Length > 0)
        {
            map.Problems.Add(map.PlaceOf("authority"), "this is no address of an identity provider", $"\"{text}\"", AuthorityForm);
        }

        return new Uri("https://localhost");
    }

    private static Dictionary<string, Role> Roles(MapBinder map)
    {
        var roles = new Dictionary<string, Role>(StringComparer.Ordinal);
        foreach (var entry in map.List("roles", 1, MaxRoles).Select(n => MapBinder.Of(n, map.Problems)).OfType<MapBinder>())
        {
            var value = entry.Text("value", TextForms.Line);
            roles[value] = entry.Choice<Role>("role");
            entry.Finish();
        }

        Unique.Check(map.Node.Find("roles")?.Value, "value", map.Problems);
        return roles;
    }

    [GeneratedRegex(@"^[!#-\[\]-~]{1,100}\z")]
    private static partial Regex ScopePattern();
}
