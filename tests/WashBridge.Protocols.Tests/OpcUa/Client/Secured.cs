using System.Security.Cryptography;
using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>A scripted server with a certificate, and a client that trusts it.</summary>
internal sealed class Secured : IDisposable
{
    public const string Host = "washer.invalid";
    private readonly TestFolder folder = new();

    public Secured()
    {
        ServerCertificate = Make(ScriptedServer.ApplicationUri, Keys.First);
        OwnCertificate = Make("urn:washbridge:tests:client", Keys.Second);
        Store = PkiStore.Open(folder["pki"], Harness.Time);
        Trust(ServerCertificate);
        Harness.Server.Endpoints.Clear();
        foreach (var policy in SecurityPolicy.All.Where(p => !p.IsNone))
        {
            Harness.Server.Endpoints.Add(ScriptedServer.Endpoint(policy, MessageSecurityMode.Sign, ServerCertificate.Der.ToArray(), Tokens));
            Harness.Server.Endpoints.Add(ScriptedServer.Endpoint(policy, MessageSecurityMode.SignAndEncrypt, ServerCertificate.Der.ToArray(), Tokens));
        }

        Harness.Server.OnCreated = Sign;
        Options = Harness.Options with
        {
            Policy = null,
            Mode = MessageSecurityMode.SignAndEncrypt,
            Certificate = OwnCertificate,
            Validator = new CertificateValidator(Store, Harness.Time),
        };
    }

    public static UserTokenPolicy[] Tokens { get; } =
    [
        new("anonymous", UserTokenType.Anonymous, null, null, null),
        new("name", UserTokenType.UserName, null, null, null),
        new("certificate", UserTokenType.Certificate, null, null, null),
    ];

    public Harness Harness { get; } = new();

    public ApplicationCertificate ServerCertificate { get; }

    public ApplicationCertificate OwnCertificate { get; }

    public PkiStore Store { get; }

    public UaClientOptions Options { get; set; }

    public byte[] Nonce { get; } = RandomNumberGenerator.GetBytes(32);

    public ApplicationCertificate Make(string uri, RSA key, string host = Host) => ApplicationCertificate.CreateSelfSigned(
        new CertificateRequestData { SubjectName = "CN=test", ApplicationUri = uri, DnsNames = [host] }, Harness.Time, key);

    public void Trust(ApplicationCertificate certificate) => File.WriteAllBytes(Path.Combine(Store.TrustedFolder, Path.GetRandomFileName()), certificate.Der.ToArray());

    /// <summary>As a server does that owns its certificate.</summary>
    public CreateSessionResponse Sign(CreateSessionRequest request, CreateSessionResponse response)
    {
        var policy = Harness.Server.Channels[^1].Policy;
        var signature = SessionSignature.Create(policy, ServerCertificate.PrivateKey, request.ClientCertificate, request.ClientNonce);
        return response with { ServerCertificate = ServerCertificate.Der.ToArray(), ServerNonce = Nonce, ServerSignature = new SignatureData(policy.AsymmetricSignatureUri, signature) };
    }

    public UaSession Session() => Harness.Scheduler.Run(() => UaSession.ConnectAsync(Options, Harness.Server.OpenAsync, NullLogger.Instance, Harness.Time, CancellationToken.None));

    public UaException Refused(string status)
    {
        var e = Assert.Throws<UaException>(Session);
        Assert.Equal(status, e.Status.ToString());
        Assert.DoesNotContain(Harness.Server.Channels, c => c.IsOpen);
        return e;
    }

    public void Dispose() => folder.Dispose();
}
