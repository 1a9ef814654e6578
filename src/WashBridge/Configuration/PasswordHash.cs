using System.Globalization;
using System.Security.Cryptography;
using System.Text;

namespace WashBridge.Configuration;

/// <summary>
/// A password as it is kept: salted and stretched with PBKDF2-HMAC-SHA256 (RFC 8018, 5.2), written
/// <c>pbkdf2-sha256:ITERATIONS:SALT:HASH</c> with salt and hash in base64.
/// </summary>
internal sealed class PasswordHash
{
    public const int LeastIterations = 100_000;
    public const int MostIterations = 5_000_000;
    public const int StandardIterations = 600_000;
    public const int MaxPasswordBytes = 1_000;

    private const string Scheme = "pbkdf2-sha256";
    private const int SaltBytes = 16;

    private readonly int iterations;
    private readonly byte[] salt;
    private readonly byte[] hash;

    private PasswordHash(int iterations, byte[] salt, byte[] hash) => (this.iterations, this.salt, this.hash) = (iterations, salt, hash);

    public static string Form { get; } = $"{Scheme}:ITERATIONS:SALT:HASH as the password-hash command prints it, with {LeastIterations} to {MostIterations} iterations";

    public static PasswordHash Of(string password, int iterations = StandardIterations)
    {
        var salt = RandomNumberGenerator.GetBytes(SaltBytes);
        return new PasswordHash(iterations, salt, Stretch(Encoding.UTF8.GetBytes(password), salt, iterations));
    }

    /// <summary>Null: not of that form.</summary>
    public static PasswordHash? Parse(string text)
    {
        var parts = text.Split(':');
        return parts is [Scheme, _, _, _]
            && int.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out var iterations) && iterations is >= LeastIterations and <= MostIterations
            && Base64(parts[2]) is { Length: >= SaltBytes and <= 64 } salt
            && Base64(parts[3]) is { Length: SHA256.HashSizeInBytes } hash
            ? new PasswordHash(iterations, salt, hash)
            : null;
    }

    /// <summary>Takes the same time whatever is wrong.</summary>
    public bool Fits(ReadOnlySpan<byte> password) => password.Length <= MaxPasswordBytes && CryptographicOperations.FixedTimeEquals(Stretch(password, salt, iterations), hash);

    public bool Fits(string password) => Fits(Encoding.UTF8.GetBytes(password));

    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Scheme}:{iterations}:{Convert.ToBase64String(salt)}:{Convert.ToBase64String(hash)}");

    private static byte[] Stretch(ReadOnlySpan<byte> password, byte[] salt, int iterations) => Rfc2898DeriveBytes.Pbkdf2(password, salt, iterations, HashAlgorithmName.SHA256, SHA256.HashSizeInBytes);

    private static byte[]? Base64(string text)
    {
        var bytes = new byte[text.Length];
        return Convert.TryFromBase64String(text, bytes, out var length) ? bytes[..length] : null;
    }
}
