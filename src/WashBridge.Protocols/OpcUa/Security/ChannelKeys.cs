using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>
/// The keys that one side of a secure channel signs and encrypts with under one security token (Part 6, 6.7.5): one set to send, one to receive.
/// Not thread safe, because the objects that hold the keys are kept from message to message.
/// </summary>
public sealed class ChannelKeys : IDisposable
{
    /// <summary>What one call to the cipher takes; larger messages go through it piece by piece.</summary>
    private const int PieceBytes = 8192;

    private readonly IncrementalHash hmac;
    private readonly Aes aes;
    private readonly int blockBytes;
    private ICryptoTransform? encryptor;
    private ICryptoTransform? decryptor;
    private byte[]? piece;

    /// <summary>Keys that are known already: for published vectors.</summary>
    internal ChannelKeys(ReadOnlySpan<byte> signingKey, ReadOnlySpan<byte> encryptingKey, ReadOnlySpan<byte> initializationVector)
    {
        SignatureBytes = HMACSHA256.HashSizeInBytes;
        blockBytes = initializationVector.Length;
        hmac = IncrementalHash.CreateHMAC(HashAlgorithmName.SHA256, signingKey);
        aes = Aes.Create();
        aes.Mode = CipherMode.CBC;
        aes.Padding = PaddingMode.None;
        aes.SetKey(encryptingKey);
        aes.IV = initializationVector.ToArray();
    }

    /// <summary>Length of every signature: 32.</summary>
    public int SignatureBytes { get; }

    /// <summary>
    /// Derives signing key, encrypting key and initialisation vector, in this order, with P_SHA256 (Part 6, 6.7.5, table 67).
    /// The client's keys: secret is the server's nonce and seed the client's. The server's keys: the other way round.
    /// </summary>
    /// <exception cref="ArgumentException">The policy is None, or a nonce does not have the policy's length.</exception>
    public static ChannelKeys Derive(SecurityPolicy policy, ReadOnlySpan<byte> secret, ReadOnlySpan<byte> seed)
    {
        if (policy.IsNone)
        {
            throw new ArgumentException("the security policy None has no keys", nameof(policy));
        }

        if (secret.Length != policy.NonceBytes || seed.Length != policy.NonceBytes)
        {
            throw new ArgumentException($"nonces of {secret.Length} and {seed.Length} bytes; {policy.Name} asks for {policy.NonceBytes}", nameof(secret));
        }

        Span<byte> derived = stackalloc byte[policy.SymmetricSignatureBytes + policy.SymmetricKeyBytes + policy.SymmetricBlockBytes];
        KeyDerivation.PSha256(secret, seed, derived);
        var encryptingKey = derived.Slice(policy.SymmetricSignatureBytes, policy.SymmetricKeyBytes);
        var keys = new ChannelKeys(derived[..policy.SymmetricSignatureBytes], encryptingKey, derived[^policy.SymmetricBlockBytes..]);
        CryptographicOperations.ZeroMemory(derived);
        return keys;
    }

    /// <summary>HMAC-SHA-256 over the data.</summary>
    /// <param name="signature">Exactly <see cref="SignatureBytes"/>.</param>
    public void Sign(ReadOnlySpan<byte> data, Span<byte> signature)
    {
        ArgumentOutOfRangeException.ThrowIfNotEqual(signature.Length, SignatureBytes, nameof(signature));
        hmac.AppendData(data);
        hmac.GetHashAndReset(signature);
    }

    /// <summary>Whether the signature belongs to the data. The time taken does not depend on where they differ.</summary>
    public bool Verify(ReadOnlySpan<byte> data, ReadOnlySpan<byte> signature)
    {
        Span<byte> expected = stackalloc byte[SignatureBytes];
        Sign(data, expected);
        return CryptographicOperations.FixedTimeEquals(expected, signature);
    }

    /// <summary>AES-CBC from the derived initialisation vector, which every message starts with anew (Part 6, 6.7.2.3).</summary>
    /// <param name="inPlace">A whole number of blocks, padded by the caller.</param>
    /// <exception cref="ArgumentException">Not a whole number of blocks.</exception>
    public void Encrypt(Span<byte> inPlace) => Transform(encryptor ??= aes.CreateEncryptor(), inPlace);

    /// <summary>The reverse of <see cref="Encrypt"/>. Tells nothing about whether the data is genuine: <see cref="Verify"/> does.</summary>
    /// <exception cref="ArgumentException">Not a whole number of blocks.</exception>
    public void Decrypt(Span<byte> inPlace) => Transform(decryptor ??= aes.CreateDecryptor(), inPlace);

    public void Dispose()
    {
        encryptor?.Dispose();
        decryptor?.Dispose();
        aes.Dispose();
        hmac.Dispose();
        CryptographicOperations.ZeroMemory(piece);
    }

    private void Transform(ICryptoTransform transform, Span<byte> inPlace)
    {
        if (inPlace.Length % blockBytes != 0)
        {
            throw new ArgumentException($"{inPlace.Length} bytes are not a whole number of blocks of {blockBytes}", nameof(inPlace));
        }

        piece ??= new byte[PieceBytes];
        while (!inPlace.IsEmpty)
        {
            var taken = Math.Min(piece.Length, inPlace.Length);
            inPlace[..taken].CopyTo(piece);
            transform.TransformBlock(piece, 0, taken, piece, 0);
            piece.AsSpan(0, taken).CopyTo(inPlace);
            inPlace = inPlace[taken..];
        }

        // Only this takes the transform back to the initialisation vector. A kept transform spares small messages the key set-up of a one-shot call.
        transform.TransformFinalBlock([], 0, 0);
    }
}
