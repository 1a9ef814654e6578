using System.Security.Cryptography;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;
using WashBridge.Protocols.Tests.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>A server with a certificate and users, and a client that it trusts, in virtual time.</summary>
internal sealed class SecuredFixture : IDisposable
{
    public const string ClientUri = "urn:test:client";

    private readonly TestFolder folder = new();

    public SecuredFixture(UaServerLimits? limits = null)
    {
        var time = new Microsoft.Extensions.Time.Testing.FakeTimeProvider(ServerFixture.Start);
        var store = PkiStore.Open(folder["pki"], time);
        ServerCertificate = Make("urn:test:server", Keys.First, time);
        Client = Make(ClientUri, Keys.Second, time);
        User = Make("urn:test:user", Keys.Of3072Bits, time);
        File.WriteAllBytes(Path.Combine(store.TrustedFolder, "client.der"), Client.Der.ToArray());
        Services = new ServerFixture(limits, options => options with
        {
            Endpoints = [ServerEndpoint.Unprotected, .. ServerEndpoint.Protected],
            Certificate = ServerCertificate,
            Validator = new CertificateValidator(store, time),
            Users = Users,
        });
    }

    public ServerFixture Services { get; }

    public ApplicationCertificate ServerCertificate { get; }

    public ApplicationCertificate Client { get; }

    public ApplicationCertificate User { get; }

    public UserTable Users { get; } = new();

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    public FakeConnection Open(SecurityPolicy? policy = null, MessageSecurityMode mode = MessageSecurityMode.SignAndEncrypt, ApplicationCertificate? client = null, string address = "192.0.2.1") => new()
    {
        Policy = policy ?? SecurityPolicy.Basic256Sha256,
        Mode = policy is { IsNone: true } ? MessageSecurityMode.None : mode,
        ClientCertificate = policy is { IsNone: true } ? default : (client ?? Client).Der,
        Address = address,
    };

    public CreateSessionRequest Request(ApplicationCertificate? client = null, string uri = ClientUri, int nonceBytes = 32) => ServerFixture.SessionRequest(uri) with
    {
        ClientCertificate = (client ?? Client).Der.ToArray(),
        ClientNonce = RandomNumberGenerator.GetBytes(nonceBytes),
    };

    public CreateSessionResponse Create(FakeConnection connection) => Services.Host.Sessions.Create(connection, Request());

    /// <param name="nonce">The server's latest.</param>
    public Task<ActivateSessionResponse> ActivateAsync(FakeConnection connection, NodeId token, byte[] nonce, ExtensionObject identity = default, SignatureData? userSignature = null)
    {
        var policy = connection.Policy;
        var signature = policy.IsNone
            ? new SignatureData(null, null)
            : new SignatureData(policy.AsymmetricSignatureUri, SessionSignature.Create(policy, Client.PrivateKey, ServerCertificate.Der, nonce));
        return ActivateAsync(connection, token, signature, identity, userSignature);
    }

    public Task<ActivateSessionResponse> ActivateAsync(FakeConnection connection, NodeId token, SignatureData signature, ExtensionObject identity = default, SignatureData? userSignature = null) =>
        Services.Host.Sessions.ActivateAsync(connection, token, new ActivateSessionRequest(signature, [], identity, userSignature ?? new SignatureData(null, null)), Cancellation).AsTask();

    public ExtensionObject Password(SecurityPolicy policy, string user, string password, byte[] nonce) => ExtensionObject.Of(new UserNameIdentityToken(
        $"password-{policy.Name}", user, UserTokens.EncryptPassword(policy, ServerCertificate.PrivateKey, password, nonce), policy.AsymmetricEncryptionUri));

    public void Dispose()
    {
        ServerCertificate.Dispose();
        Client.Dispose();
        User.Dispose();
        folder.Dispose();
    }

    /// <summary>With a copy of the key, which is disposed of together with the certificate.</summary>
    public static ApplicationCertificate Make(string uri, RSA key, TimeProvider time) =>
        ApplicationCertificate.CreateSelfSigned(new CertificateRequestData { SubjectName = "CN=test", ApplicationUri = uri, DnsNames = ["localhost"] }, time, RSA.Create(key.ExportParameters(true)));

    internal sealed class UserTable : IUserDirectory
    {
        public bool HasPasswords => true;

        public bool HasCertificates => true;

        public byte[]? KnownCertificate { get; set; }

        /// <summary>Holds up the answers about passwords.</summary>
        public TaskCompletionSource? Gate { get; set; }

        public int Asked { get; private set; }

        public async ValueTask<bool> IsPasswordAsync(string user, string password, CancellationToken cancellation)
        {
            Asked++;
            await (Gate?.Task ?? Task.CompletedTask);
            return user == "anna" && password == "sesame";
        }

        public ValueTask<string?> FindUserAsync(ReadOnlyMemory<byte> certificate, CancellationToken cancellation) =>
            new(KnownCertificate is { } known && certificate.Span.SequenceEqual(known) ? "berta" : null);
    }
}
