using System.Buffers.Binary;
using System.Security.Cryptography;
using System.Text;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>
/// Protection of user identity tokens by the policy that the token's description names, else by that of the endpoint (Part 4, 7.40 and 7.41).
/// Passwords travel in the legacy format for RSA (7.41.2.2): length of what follows, password in UTF-8, latest server nonce.
/// </summary>
public static class UserTokens
{
    /// <summary>Longest password, in bytes of UTF-8.</summary>
    public const int MaxPasswordBytes = 1024;

    private const int LengthBytes = sizeof(uint);
    private static readonly UTF8Encoding StrictUtf8 = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);

    /// <summary>
    /// The password as a user name token carries it, whose encryption algorithm is <see cref="SecurityPolicy.AsymmetricEncryptionUri"/>.
    /// Under the policy None there is no such thing: the password would go in the clear, which the caller has to want.
    /// </summary>
    /// <exception cref="InvalidOperationException">The policy is None.</exception>
    /// <exception cref="ArgumentException">The password is longer than <see cref="MaxPasswordBytes"/>.</exception>
    public static byte[] EncryptPassword(SecurityPolicy policy, RSA serverPublicKey, string password, ReadOnlySpan<byte> serverNonce)
    {
        var secretBytes = StrictUtf8.GetByteCount(password);
        if (secretBytes > MaxPasswordBytes)
        {
            throw new ArgumentException($"a password of {secretBytes} bytes; allowed: up to {MaxPasswordBytes}", nameof(password));
        }

        var plain = new byte[LengthBytes + secretBytes + serverNonce.Length];
        BinaryPrimitives.WriteUInt32LittleEndian(plain, (uint)(secretBytes + serverNonce.Length));
        StrictUtf8.GetBytes(password, plain.AsSpan(LengthBytes));
        serverNonce.CopyTo(plain.AsSpan(LengthBytes + secretBytes));

        var plainBlock = policy.PlainBlockBytes(serverPublicKey);
        var cipher = new byte[(plain.Length + plainBlock - 1) / plainBlock * policy.CipherBlockBytes(serverPublicKey)];
        policy.Encrypt(serverPublicKey, plain, cipher);
        CryptographicOperations.ZeroMemory(plain);
        return cipher;
    }

    /// <summary>
    /// The password of a user name token; null if it cannot be decrypted, is too long or was not made for this nonce. Which of these it was is
    /// not told, so that nobody learns anything by trying.
    /// </summary>
    /// <param name="algorithm">As the token named it; another one than the policy's is refused.</param>
    /// <param name="serverNonce">The nonce last sent to this client.</param>
    /// <exception cref="InvalidOperationException">The policy is None.</exception>
    public static string? DecryptPassword(SecurityPolicy policy, RSA serverPrivateKey, string? algorithm, ReadOnlySpan<byte> encrypted, ReadOnlySpan<byte> serverNonce)
    {
        if (policy.IsNone)
        {
            throw new InvalidOperationException("the security policy None encrypts nothing");
        }

        var (plainBlock, cipherBlock) = (policy.PlainBlockBytes(serverPrivateKey), policy.CipherBlockBytes(serverPrivateKey));
        var mostBlocks = (LengthBytes + MaxPasswordBytes + serverNonce.Length + plainBlock - 1) / plainBlock;
        if (algorithm != policy.AsymmetricEncryptionUri || encrypted.Length > mostBlocks * cipherBlock)
        {
            return null;
        }

        var plain = new byte[mostBlocks * plainBlock];
        try
        {
            return Secret(plain.AsSpan(0, policy.Decrypt(serverPrivateKey, encrypted, plain)), serverNonce);
        }
        catch (Exception e) when (e is UaException or DecoderFallbackException)
        {
            return null;
        }
        finally
        {
            CryptographicOperations.ZeroMemory(plain);
        }
    }

    /// <summary>The signature of an X.509 user over the server's certificate and latest nonce (Part 4, 5.7.3.2).</summary>
    /// <exception cref="InvalidOperationException">The policy is None.</exception>
    public static byte[] Sign(SecurityPolicy policy, RSA userPrivateKey, ReadOnlyMemory<byte> serverCertificate, ReadOnlySpan<byte> serverNonce) =>
        policy.Sign(userPrivateKey, CertificateChain.Leaf(serverCertificate).Span, serverNonce);

    /// <summary>Whether an X.509 user owns the key of the certificate in the token. Never true under the policy None.</summary>
    /// <param name="serverChain">Our certificate as we sent it.</param>
    public static bool Verify(SecurityPolicy policy, RSA userPublicKey, ReadOnlyMemory<byte> serverChain, ReadOnlySpan<byte> serverNonce, string? algorithm, ReadOnlySpan<byte> signature) =>
        !policy.IsNone && SessionSignature.Verify(policy, userPublicKey, serverChain, serverNonce, algorithm, signature);

    /// <summary>What lies between the length and the nonce; null if they do not fit.</summary>
    private static string? Secret(ReadOnlySpan<byte> plain, ReadOnlySpan<byte> serverNonce)
    {
        if (plain.Length < LengthBytes)
        {
            return null;
        }

        var length = BinaryPrimitives.ReadUInt32LittleEndian(plain);
        var rest = plain[LengthBytes..];
        if (length > rest.Length || length < serverNonce.Length)
        {
            return null;
        }

        var secret = rest[..((int)length - serverNonce.Length)];
        var nonce = rest.Slice(secret.Length, serverNonce.Length);
        return CryptographicOperations.FixedTimeEquals(nonce, serverNonce) && secret.Length <= MaxPasswordBytes ? StrictUtf8.GetString(secret) : null;
    }
}
