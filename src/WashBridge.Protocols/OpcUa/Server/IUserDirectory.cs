namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>Knows who may log in. Called from several tasks at once.</summary>
public interface IUserDirectory
{
    /// <summary>Whether user names with passwords are offered to clients.</summary>
    bool HasPasswords { get; }

    /// <summary>Whether user certificates are offered to clients.</summary>
    bool HasCertificates { get; }

    /// <summary>
    /// Whether this is the user's password. Should take equally long for unknown users. The server itself slows down and locks out guessing.
    /// </summary>
    ValueTask<bool> IsPasswordAsync(string user, string password, CancellationToken cancellation);

    /// <summary>The name of the user with this certificate, whose possession has been proved by a signature already; null: unknown or not allowed.</summary>
    /// <param name="certificate">DER, the end certificate alone. Its chain and times are not judged: what is listed here is trusted.</param>
    ValueTask<string?> FindUserAsync(ReadOnlyMemory<byte> certificate, CancellationToken cancellation);
}
