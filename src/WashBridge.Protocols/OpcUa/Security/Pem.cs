using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>Files in DER form, or in PEM form (RFC 7468).</summary>
internal static class Pem
{
    /// <summary>The DER form of what a file holds.</summary>
    /// <exception cref="CryptographicException">PEM, but of another kind.</exception>
    public static byte[] ToDer(byte[] content, string label)
    {
        if (!content.AsSpan().StartsWith("-----BEGIN"u8))
        {
            return content;
        }

        var text = System.Text.Encoding.Latin1.GetString(content);
        return PemEncoding.TryFind(text, out var fields) && text[fields.Label] == label
            ? Convert.FromBase64String(text[fields.Base64Data])
            : throw new CryptographicException($"does not begin with a PEM block of kind {label}");
    }
}
