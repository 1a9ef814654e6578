using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>The public key of a server's certificate.</summary>
internal static class ServerKey
{
    /// <summary>Null if it is not RSA.</summary>
    /// <param name="chain">As the server sent it.</param>
    /// <exception cref="UaException">BadCertificateInvalid: it cannot be read.</exception>
    public static RSA? Of(ReadOnlyMemory<byte> chain)
    {
        try
        {
            using var certificate = X509CertificateLoader.LoadCertificate(CertificateChain.Leaf(chain).Span);
            return certificate.GetRSAPublicKey();
        }
        catch (CryptographicException e)
        {
            throw new UaException(StatusCodes.BadCertificateInvalid, $"the server's certificate cannot be read: {e.Message}", e);
        }
    }
}
