using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>P_SHA256, the pseudo-random function by which nonces become keys (Part 6, 6.7.5; RFC 5246, 5 without the label).</summary>
internal static class KeyDerivation
{
    /// <summary>Fills the output: HMAC(A(1) + seed), HMAC(A(2) + seed) and so on, where A(0) is the seed and A(i) is HMAC(A(i-1)).</summary>
    public static void PSha256(ReadOnlySpan<byte> secret, ReadOnlySpan<byte> seed, Span<byte> output)
    {
        using var hmac = IncrementalHash.CreateHMAC(HashAlgorithmName.SHA256, secret);
        Span<byte> a = stackalloc byte[HMACSHA256.HashSizeInBytes];
        Span<byte> block = stackalloc byte[HMACSHA256.HashSizeInBytes];
        hmac.AppendData(seed);
        hmac.GetHashAndReset(a);
        while (!output.IsEmpty)
        {
            hmac.AppendData(a);
            hmac.AppendData(seed);
            hmac.GetHashAndReset(block);
            var taken = Math.Min(block.Length, output.Length);
            block[..taken].CopyTo(output);
            output = output[taken..];
            hmac.AppendData(a);
            hmac.GetHashAndReset(a);
        }

        CryptographicOperations.ZeroMemory(a);
        CryptographicOperations.ZeroMemory(block);
    }
}
