using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Who we say we are to the server (OPC 10000-4, 7.41). There is no default: no user at all must be asked for by name too.</summary>
public abstract record UserIdentity
{
    private UserIdentity()
    {
    }

    /// <summary>No user.</summary>
    public static UserIdentity Anonymous { get; } = new AnonymousUser();

    /// <param name="name">As the server knows it.</param>
    /// <param name="password">Sent encrypted under the policy that the server names for this kind of user, else not at all; see <see cref="UaClientOptions.AllowPasswordInClear"/>.</param>
    public static UserIdentity UserName(string name, string password) => new NamedUser(name, password);

    /// <param name="certificate">Of the user, with its private key; not that of the application.</param>
    public static UserIdentity X509(ApplicationCertificate certificate) => new CertificateUser(certificate);

    /// <summary>Never shows the password.</summary>
    public sealed override string ToString() => this switch
    {
        NamedUser user => $"user '{user.Name}'",
        CertificateUser user => $"user certificate {Convert.ToHexString(user.Certificate.Thumbprint)}",
        _ => "anonymous",
    };

    internal sealed record AnonymousUser : UserIdentity;

    internal sealed record NamedUser(string Name, string Password) : UserIdentity;

    internal sealed record CertificateUser(ApplicationCertificate Certificate) : UserIdentity;
}
