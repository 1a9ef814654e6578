using System.Net.Security;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Tests.Web;

/// <summary>A certificate for localhost from an authority of the trial's own, with one between them, as a site's would be.</summary>
internal sealed class Authority : IDisposable
{
    private static readonly DateTimeOffset From = new(2031, 1, 1, 0, 0, 0, TimeSpan.Zero);
    private static readonly DateTimeOffset Until = new(2032, 1, 1, 0, 0, 0, TimeSpan.Zero);

    private readonly X509Certificate2 _root;
    private readonly X509Certificate2 _between;
    private readonly X509Certificate2 _server;

    public Authority()
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        using var root = Request("Trial authority", key, isAuthority: true).CreateSelfSigned(From, Until);
        _root = X509CertificateLoader.LoadCertificate(root.RawData);
        using var between = Issue("Trial authority for servers", root, 1, isAuthority: true);
        _between = X509CertificateLoader.LoadCertificate(between.RawData);
        using var server = Issue("localhost", between, 2, isAuthority: false);
        _server = X509CertificateLoader.LoadPkcs12(server.Export(X509ContentType.Pkcs12), null);
    }

    /// <summary>As the site's file has them: the server's with its key, then what leads to the root.</summary>
    public IReadOnlyList<X509Certificate2> Chain => [_server, _between];

    /// <summary>A client that knows the root and nothing else, and looks whether the name is right.</summary>
    public SslClientAuthenticationOptions Trusting
    {
        get
        {
            var policy = new X509ChainPolicy { TrustMode = X509ChainTrustMode.CustomRootTrust, RevocationMode = X509RevocationMode.NoCheck, VerificationTime = From.AddMonths(2).UtcDateTime };
            policy.CustomTrustStore.Add(_root);
            return new SslClientAuthenticationOptions { CertificateChainPolicy = policy };
        }
    }

    public void Dispose()
    {
        _server.Dispose();
        _between.Dispose();
        _root.Dispose();
    }

    private static X509Certificate2 Issue(string name, X509Certificate2 issuer, byte number, bool isAuthority)
    {
        using var key = ECDsa.Create(ECCurve.NamedCurves.nistP256);
        using var issued = Request(name, key, isAuthority).Create(issuer, From, Until, [number]);
        return issued.CopyWithPrivateKey(key);
    }

    private static CertificateRequest Request(string name, ECDsa key, bool isAuthority)
    {
        var request = new CertificateRequest($"CN={name}", key, HashAlgorithmName.SHA256);
        request.CertificateExtensions.Add(new X509BasicConstraintsExtension(isAuthority, false, 0, true));
        if (!isAuthority)
        {
            var names = new SubjectAlternativeNameBuilder();
            names.AddDnsName(name);
            request.CertificateExtensions.Add(names.Build());
        }

        return request;
    }
}
