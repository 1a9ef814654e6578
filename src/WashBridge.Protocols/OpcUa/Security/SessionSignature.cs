using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>
/// Proof, when a session is created or activated, that each side owns the private key of its certificate (Part 4, 5.7.2 and 5.7.3):
/// a signature over the peer's certificate followed by the peer's nonce. The server signs the client's, the client the server's latest.
/// </summary>
public static class SessionSignature
{
    /// <summary>The signature for a SignatureData whose algorithm is <see cref="SecurityPolicy.AsymmetricSignatureUri"/>; empty for the policy None.</summary>
    /// <param name="peerCertificate">As the peer sent it; only the end certificate of a chain is signed.</param>
    /// <exception cref="UaException">BadCertificateInvalid: the peer's certificate cannot be read.</exception>
    public static byte[] Create(SecurityPolicy policy, RSA ownPrivateKey, ReadOnlyMemory<byte> peerCertificate, ReadOnlySpan<byte> peerNonce) =>
        policy.IsNone ? [] : policy.Sign(ownPrivateKey, CertificateChain.Leaf(peerCertificate).Span, peerNonce);

    /// <summary>Whether the peer signed our certificate and our nonce. Always true for the policy None, where nothing is signed.</summary>
    /// <param name="ownChain">Our certificate as we sent it. A signature over a whole chain is taken too, as some peers make it (Part 4, 5.7.2.2).</param>
    /// <param name="algorithm">As the peer named it; another one than the policy's is refused.</param>
    public static bool Verify(SecurityPolicy policy, RSA peerPublicKey, ReadOnlyMemory<byte> ownChain, ReadOnlySpan<byte> ownNonce, string? algorithm, ReadOnlySpan<byte> signature)
    {
        if (policy.IsNone)
        {
            return true;
        }

        var leaf = CertificateChain.Leaf(ownChain);
        return algorithm == policy.AsymmetricSignatureUri
            && (policy.Verify(peerPublicKey, leaf.Span, ownNonce, signature)
                || (leaf.Length < ownChain.Length && policy.Verify(peerPublicKey, ownChain.Span, ownNonce, signature)));
    }
}
