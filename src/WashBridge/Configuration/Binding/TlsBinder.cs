using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Configuration.Binding;

/// <summary>A certificate of ours with its key: two PEM files, or one PKCS #12 file with the secret that opens it.</summary>
internal static class TlsBinder
{
    public static IReadOnlyList<X509Certificate2> Bind(MapBinder map, SourceFiles sources)
    {
        var certificate = map.OptionalText("certificate", TextForms.Line);
        var key = map.OptionalText("key", TextForms.Line);
        var pfx = map.OptionalText("pfx", TextForms.Line);
        var secret = SecretBinder.Bind(map.Find("pfx-secret"), sources);
        if ((Has("certificate") || Has("key")) && (Has("pfx") || Has("pfx-secret")))
        {
            map.Problems.Add(map.PlaceOf("pfx"), "there is one certificate", "certificate and pfx", "certificate and key, or pfx and pfx-secret");
            return [];
        }

        Together("certificate", "key");
        Together("pfx", "pfx-secret");
        if (!Exists("certificate", certificate) | !Exists("key", key) | !Exists("pfx", pfx))
        {
            return [];
        }

        return (certificate, key, pfx, secret) switch
        {
            ({ } certificateFile, { } keyFile, _, _) => Read(map, "certificate", certificateFile, () => Pem(Path(certificateFile), Path(keyFile))),
            (_, _, { } file, { } password) => Read(map, "pfx", file, () => Ordered(X509CertificateLoader.LoadPkcs12CollectionFromFile(Path(file), password))),
            _ => [],
        };

        bool Has(string name) => map.Node.Find(name) is not null;

        string Path(string path) => SourceFiles.Resolve(map.Place.File, path);

        bool Exists(string name, string? file)
        {
            if (file is null || File.Exists(Path(file)))
            {
                return true;
            }

            map.Problems.Add(map.PlaceOf(name), "there is no such file", $"\"{file}\"", "a file that exists, named relative to the file that names it");
            return false;
        }

        void Together(string one, string other)
        {
            if (Has(one) != Has(other))
            {
                var missing = Has(one) ? other : one;
                map.Problems.Add(map.PlaceOf(missing), $"the key {missing} is missing", "", $"{one} and {other} together, or neither");
            }
        }
    }

    private static List<X509Certificate2> Pem(string certificate, string key)
    {
        // The key must belong to the certificate, which loading both checks. Over PKCS #12, because a key that lies in memory only serves no TLS on Windows.
        using var own = X509Certificate2.CreateFromPemFile(certificate, key);
        var all = new X509Certificate2Collection();
        all.ImportFromPemFile(certificate);
        var usable = X509CertificateLoader.LoadPkcs12(own.Export(X509ContentType.Pkcs12), null);
        return [usable, .. all.Where(c => c.Thumbprint != usable.Thumbprint)];
    }

    private static List<X509Certificate2> Ordered(X509Certificate2Collection all) => [.. all.OrderByDescending(c => c.HasPrivateKey)];

    private static List<X509Certificate2> Read(MapBinder map, string key, string file, Func<List<X509Certificate2>> read)
    {
        try
        {
            var certificates = read();
            if (certificates is [{ HasPrivateKey: true }, ..])
            {
                return certificates;
            }

            map.Problems.Add(map.PlaceOf(key), "the file holds no certificate with its private key", $"\"{file}\"", "a certificate with the key that it was made for");
        }
        catch (Exception e) when (e is CryptographicException or IOException or UnauthorizedAccessException or ArgumentException)
        {
            map.Problems.Add(map.PlaceOf(key), $"the certificate cannot be used: {e.Message}", $"\"{file}\"", key == "pfx" ? "a PKCS #12 file with certificate and key, and the secret that opens it" : "a certificate and its key, both as PEM, the key not encrypted");
        }

        return [];
    }
}
