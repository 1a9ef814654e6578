using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>RSA: signatures, and encryption in whole blocks (Part 6, 6.7.2).</summary>
public sealed partial class SecurityPolicy
{
    /// <summary>A signature over the data, as long as the modulus of the key.</summary>
    /// <exception cref="InvalidOperationException">The policy is None.</exception>
    public byte[] Sign(RSA privateKey, ReadOnlySpan<byte> data) => Sign(privateKey, data, []);

    /// <summary>A signature over two spans as if they were one: a certificate and a nonce, for instance.</summary>
    /// <exception cref="InvalidOperationException">The policy is None.</exception>
    public byte[] Sign(RSA privateKey, ReadOnlySpan<byte> first, ReadOnlySpan<byte> second)
    {
        Span<byte> hash = stackalloc byte[SHA256.HashSizeInBytes];
        Hash(first, second, hash);
        return privateKey.SignHash(hash, HashAlgorithmName.SHA256, signaturePadding);
    }

    /// <summary>Writes the signature to where it belongs in a message.</summary>
    /// <param name="signature">Exactly as long as the modulus: <see cref="CipherBlockBytes"/>.</param>
    /// <exception cref="InvalidOperationException">The policy is None.</exception>
    public void SignInto(RSA privateKey, ReadOnlySpan<byte> data, Span<byte> signature)
    {
        Span<byte> hash = stackalloc byte[SHA256.HashSizeInBytes];
        Hash(data, [], hash);
        if (!privateKey.TrySignHash(hash, signature, HashAlgorithmName.SHA256, signaturePadding, out var written) || written != signature.Length)
        {
            throw new ArgumentException($"{signature.Length} bytes for a signature of {CipherBlockBytes(privateKey)}", nameof(signature));
        }
    }

    /// <summary>Whether the signature was made over this data by the owner of that key. False, never an exception, for a signature of any wrong form.</summary>
    public bool Verify(RSA publicKey, ReadOnlySpan<byte> data, ReadOnlySpan<byte> signature) => Verify(publicKey, data, [], signature);

    /// <summary>As the other, over two spans as if they were one.</summary>
    public bool Verify(RSA publicKey, ReadOnlySpan<byte> first, ReadOnlySpan<byte> second, ReadOnlySpan<byte> signature)
    {
        Span<byte> hash = stackalloc byte[SHA256.HashSizeInBytes];
        Hash(first, second, hash);
        try
        {
            return signature.Length == CipherBlockBytes(publicKey) && publicKey.VerifyHash(hash, signature, HashAlgorithmName.SHA256, signaturePadding);
        }
        catch (CryptographicException)
        {
            return false;
        }
    }

    /// <summary>Most bytes that one block takes: the modulus less what OAEP needs, which is twice the hash and two bytes (RFC 8017, 7.1.1).</summary>
    public int PlainBlockBytes(RSA key) => IsNone ? 1 : CipherBlockBytes(key) - (2 * oaepHashBytes) - 2;

    /// <summary>Length of the modulus: that of an encrypted block and of a signature.</summary>
    public int CipherBlockBytes(RSA key) => IsNone ? 1 : (key.KeySize + 7) / 8;

    /// <summary>Encrypts block by block. Only the last block may be shorter than <see cref="PlainBlockBytes"/>.</summary>
    /// <param name="cipher">Exactly <see cref="CipherBlockBytes"/> for each block begun.</param>
    /// <exception cref="ArgumentException">The cipher text does not have that length.</exception>
    /// <exception cref="InvalidOperationException">The policy is None.</exception>
    public void Encrypt(RSA publicKey, ReadOnlySpan<byte> plain, Span<byte> cipher)
    {
        ThrowIfNone();
        var (plainBlock, cipherBlock) = (PlainBlockBytes(publicKey), CipherBlockBytes(publicKey));
        var blocks = (plain.Length + plainBlock - 1) / plainBlock;
        if (cipher.Length != blocks * cipherBlock)
        {
            throw new ArgumentException($"{cipher.Length} bytes for {blocks} blocks of {cipherBlock}", nameof(cipher));
        }

        for (; !plain.IsEmpty; plain = plain[Math.Min(plainBlock, plain.Length)..], cipher = cipher[cipherBlock..])
        {
            publicKey.Encrypt(plain[..Math.Min(plainBlock, plain.Length)], cipher, encryptionPadding);
        }
    }

    /// <summary>Decrypts block by block.</summary>
    /// <param name="cipher">A whole number of <see cref="CipherBlockBytes"/>, at least one.</param>
    /// <param name="plain">Room for <see cref="PlainBlockBytes"/> for each block. It must not overlap the cipher text.</param>
    /// <returns>Bytes written.</returns>
    /// <exception cref="UaException">BadSecurityChecksFailed: it cannot be decrypted. Always in the same words: the reason would help an attacker only.</exception>
    /// <exception cref="ArgumentException">Too little room, whatever the cipher text holds.</exception>
    /// <exception cref="InvalidOperationException">The policy is None.</exception>
    public int Decrypt(RSA privateKey, ReadOnlySpan<byte> cipher, Span<byte> plain)
    {
        ThrowIfNone();
        var cipherBlock = CipherBlockBytes(privateKey);
        if (cipher.IsEmpty || cipher.Length % cipherBlock != 0)
        {
            throw NotDecrypted();
        }

        if (plain.Length < cipher.Length / cipherBlock * PlainBlockBytes(privateKey))
        {
            throw new ArgumentException($"room for {plain.Length} bytes; {cipher.Length / cipherBlock} blocks may hold {PlainBlockBytes(privateKey)} each", nameof(plain));
        }

        // Every block is tried even if an earlier one failed, so that the time taken does not tell which.
        var written = 0;
        var isIntact = true;
        for (; !cipher.IsEmpty; cipher = cipher[cipherBlock..])
        {
            try
            {
                written += privateKey.Decrypt(cipher[..cipherBlock], plain[written..], encryptionPadding);
            }
            catch (CryptographicException)
            {
                isIntact = false;
            }
        }

        return isIntact ? written : throw NotDecrypted();
    }

    private static UaException NotDecrypted() => new(StatusCodes.BadSecurityChecksFailed, "the data cannot be decrypted with this key");

    private void Hash(ReadOnlySpan<byte> first, ReadOnlySpan<byte> second, Span<byte> hash)
    {
        ThrowIfNone();
        if (second.IsEmpty)
        {
            SHA256.HashData(first, hash);
            return;
        }

        using var both = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        both.AppendData(first);
        both.AppendData(second);
        both.GetHashAndReset(hash);
    }

    private void ThrowIfNone()
    {
        if (IsNone)
        {
            throw new InvalidOperationException("the security policy None neither signs nor encrypts");
        }
    }
}
