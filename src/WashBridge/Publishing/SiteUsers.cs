using System.Security.Cryptography;
using WashBridge.Configuration;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Publishing;

/// <summary>The users that the site's file names.</summary>
internal sealed class SiteUsers(IReadOnlyList<OpcUaUser> users) : IUserDirectory
{
    /// <summary>Nobody's; compared with for unknown users, so that they take as long as known ones.</summary>
    private static readonly Lazy<PasswordHash> Nobody = new(() => PasswordHash.Of(Convert.ToHexString(RandomNumberGenerator.GetBytes(16))));

    public bool HasPasswords { get; } = users.OfType<PasswordUser>().Any();

    public bool HasCertificates { get; } = users.OfType<CertificateUser>().Any();

    public async ValueTask<bool> IsPasswordAsync(string user, string password, CancellationToken cancellation)
    {
        var known = users.OfType<PasswordUser>().FirstOrDefault(u => u.Name == user);

        // Stretching takes a good part of a second on purpose: not on the task that serves the connection.
        return await Task.Run(() => (known?.Password ?? Nobody.Value).Fits(password), cancellation) && known is not null;
    }

    public ValueTask<string?> FindUserAsync(ReadOnlyMemory<byte> certificate, CancellationToken cancellation)
    {
        var thumbprint = Convert.ToHexString(CertificateChain.LeafThumbprint(certificate));
        return ValueTask.FromResult(users.OfType<CertificateUser>().FirstOrDefault(u => u.Thumbprint == thumbprint)?.Name);
    }
}
