using System.Text.RegularExpressions;

namespace WashBridge.Configuration.Binding;

/// <summary>Who may read from our server: each by a password, a hash of one, or a certificate.</summary>
internal static partial class OpcUaUserBinder
{
    public const int MaxUsers = 50;

    private static readonly string[] Proofs = ["secret", "password-hash", "certificate"];

    private static readonly TextForm Thumbprint = new(ThumbprintPattern(), "the SHA-1 thumbprint of the user's certificate: 40 hexadecimal digits");

    public static IReadOnlyList<OpcUaUser> Bind(MapBinder server, SourceFiles sources)
    {
        var users = new List<OpcUaUser>();
        foreach (var map in server.OptionalList("users", 0, MaxUsers).Select(n => MapBinder.Of(n, server.Problems)).OfType<MapBinder>())
        {
            if (BindUser(map, sources) is { } user)
            {
                users.Add(user);
            }
        }

        Unique.Check(server.Node.Find("users")?.Value, "user", server.Problems);
        return users;
    }

    private static OpcUaUser? BindUser(MapBinder map, SourceFiles sources)
    {
        var name = map.Text("user", TextForms.Line);
        var secret = SecretBinder.Bind(map.Find("secret"), sources);
        var hash = Hash(map);
        var thumbprint = map.OptionalText("certificate", Thumbprint);
        map.Finish();
        var given = Proofs.Where(k => map.Node.Find(k) is not null).ToList();
        if (given.Count != 1)
        {
            map.Problems.Add(map.Place, "a user is known by exactly one of a password, the hash of one, and a certificate", given.Count == 0 ? "none" : string.Join(" and ", given), string.Join(", ", Proofs));
            return null;
        }

        return thumbprint is not null ? new CertificateUser(name, thumbprint.ToUpperInvariant())
            : hash is not null ? new PasswordUser(name, hash)
            : secret is not null ? new PasswordUser(name, PasswordHash.Of(secret, PasswordHash.LeastIterations))
            : null;
    }

    private static PasswordHash? Hash(MapBinder map)
    {
        // A password that was put here by mistake must not be printed.
        if (map.Find("password-hash") is not { } node)
        {
            return null;
        }

        if (node is Yaml.YamlScalar { Kind: Yaml.ScalarKind.Text } scalar && PasswordHash.Parse(scalar.Text) is { } hash)
        {
            return hash;
        }

        map.Problems.Add(node.Place, "this is no password hash", "a value (not shown)", PasswordHash.Form);
        return null;
    }

    [GeneratedRegex(@"^[0-9A-Fa-f]{40}\z")]
    private static partial Regex ThumbprintPattern();
}
