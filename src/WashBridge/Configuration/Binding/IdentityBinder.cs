using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Configuration.Binding;

/// <summary>Who the sessions of a connection are for: nobody in particular, a user with a password, or one with a certificate.</summary>
internal static class IdentityBinder
{
    public static OpcUaIdentity Bind(MapBinder map, MessageSecurityMode mode, SourceFiles sources)
    {
        var user = map.OptionalText("user", TextForms.Line);
        var secret = SecretBinder.Bind(map.Find("secret"), sources);
        var mayBeReadable = map.Flag("readable-password", false);
        var certificate = map.OptionalText("user-certificate", TextForms.Line);
        var key = map.OptionalText("user-key", TextForms.Line);
        var (hasUser, hasCertificate) = (Has("user") || Has("secret"), Has("user-certificate") || Has("user-key"));
        if (hasUser && hasCertificate)
        {
            map.Problems.Add(map.PlaceOf("user-certificate"), "a session is for one user: one with a password, or one with a certificate", "both", "user and secret, or user-certificate and user-key");
        }

        Together("user", "secret");
        Together("user-certificate", "user-key");
        CheckReadable(map, mode, mayBeReadable, sources);
        return (user, secret, certificate, key) switch
        {
            ({ } name, { } password, _, _) => new UserNameIdentity(name, password, mayBeReadable),
            (_, _, { } certificateFile, { } keyFile) => UserCertificate(map, certificateFile, keyFile),
            _ => new AnonymousIdentity(),
        };

        bool Has(string name) => map.Node.Find(name) is not null;

        void Together(string one, string other)
        {
            if (Has(one) != Has(other))
            {
                var missing = Has(one) ? other : one;
                map.Problems.Add(map.PlaceOf(missing), $"the key {missing} is missing", "", $"{one} and {other} together, or neither");
            }
        }
    }

    /// <summary>Without security the server is whoever answers, and a password may go there in clear text.</summary>
    private static void CheckReadable(MapBinder map, MessageSecurityMode mode, bool mayBeReadable, SourceFiles sources)
    {
        if (map.Node.Find("user") is not { } user)
        {
            if (map.Node.Find("readable-password") is { } stray)
            {
                map.Problems.Add(stray.Value, "there is no password that could be read: the connection has no user", "leave it out");
            }

            return;
        }

        if (mode != MessageSecurityMode.None)
        {
            if (mayBeReadable)
            {
                map.Problems.Add(map.PlaceOf("readable-password"), $"with security-mode {mode} the password is sent encrypted or not at all", "true", "leave it out");
            }
        }
        else if (!mayBeReadable)
        {
            map.Problems.Add(user.Value, "with security-mode None the password goes to whoever answers, perhaps in clear text", "another security-mode; or readable-password: true to accept that knowingly");
        }
        else
        {
            sources.Warnings.Add(map.PlaceOf("readable-password"), "the password of this connection may be read on its way: use it nowhere else", "true", "");
        }
    }

    private static CertificateIdentity UserCertificate(MapBinder map, string certificate, string key)
    {
        var identity = new CertificateIdentity(Existing("user-certificate", certificate), Existing("user-key", key));
        return identity;

        string Existing(string name, string path)
        {
            var resolved = SourceFiles.Resolve(map.Place.File, path);
            if (!File.Exists(resolved))
            {
                map.Problems.Add(map.PlaceOf(name), "there is no such file", $"\"{path}\"", "a file that exists, named relative to the file that names it");
            }

            return resolved;
        }
    }
}
