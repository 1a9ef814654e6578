using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>
/// The algorithms and lengths of a security policy (Part 7, 6.6: the security policy facets). Immutable; safe to share between threads.
/// </summary>
public sealed partial class SecurityPolicy
{
    private const string UriPrefix = "http://opcfoundation.org/UA/SecurityPolicy#";
    private const string RsaSha256Uri = "http://www.w3.org/2001/04/xmldsig-more#rsa-sha256";
    private const string RsaOaepUri = "http://www.w3.org/2001/04/xmlenc#rsa-oaep";
    private readonly RSASignaturePadding signaturePadding;
    private readonly RSAEncryptionPadding encryptionPadding;
    private readonly int oaepHashBytes;

    private SecurityPolicy(string name, int strength, int symmetricKeyBytes, bool usesPssAndOaepSha256 = false)
    {
        Name = name;
        Uri = UriPrefix + name;
        Strength = strength;
        SymmetricKeyBytes = symmetricKeyBytes;
        signaturePadding = usesPssAndOaepSha256 ? RSASignaturePadding.Pss : RSASignaturePadding.Pkcs1;
        encryptionPadding = usesPssAndOaepSha256 ? RSAEncryptionPadding.OaepSHA256 : RSAEncryptionPadding.OaepSHA1;
        oaepHashBytes = usesPssAndOaepSha256 ? SHA256.HashSizeInBytes : SHA1.HashSizeInBytes;
        AsymmetricSignatureUri = usesPssAndOaepSha256 ? "http://opcfoundation.org/UA/security/rsa-pss-sha2-256" : RsaSha256Uri;
        AsymmetricEncryptionUri = usesPssAndOaepSha256 ? "http://opcfoundation.org/UA/security/rsa-oaep-sha2-256" : RsaOaepUri;
    }

    /// <summary>No signature and no encryption: anybody on the network can read and change what is sent.</summary>
    public static SecurityPolicy None { get; } = new("None", 0, 0);

    /// <summary>RSA PKCS #1 v1.5 with SHA-256, RSA-OAEP with SHA-1, AES-128-CBC, HMAC-SHA-256.</summary>
    public static SecurityPolicy Aes128Sha256RsaOaep { get; } = new("Aes128_Sha256_RsaOaep", 1, 16);

    /// <summary>RSA PKCS #1 v1.5 with SHA-256, RSA-OAEP with SHA-1, AES-256-CBC, HMAC-SHA-256.</summary>
    public static SecurityPolicy Basic256Sha256 { get; } = new("Basic256Sha256", 2, 32);

    /// <summary>RSA-PSS with SHA-256, RSA-OAEP with SHA-256, AES-256-CBC, HMAC-SHA-256.</summary>
    public static SecurityPolicy Aes256Sha256RsaPss { get; } = new("Aes256_Sha256_RsaPss", 3, 32, usesPssAndOaepSha256: true);

    /// <summary>Every policy known here, the weakest first. The older ones that rest on SHA-1 signatures or 1024 bit keys are not among them.</summary>
    public static IReadOnlyList<SecurityPolicy> All { get; } = [None, Aes128Sha256RsaOaep, Basic256Sha256, Aes256Sha256RsaPss];

    /// <summary>As the fragment of the URI, for instance "Aes128_Sha256_RsaOaep".</summary>
    public string Name { get; }

    public string Uri { get; }

    /// <summary>0 (none) to 3: the higher, the stronger. See <see cref="StrengthOf"/> for policy and mode together.</summary>
    public int Strength { get; }

    public bool IsNone => SymmetricKeyBytes == 0;

    /// <summary>Least length of an RSA key, in bits; 0 for None.</summary>
    public int MinimumKeyBits => IsNone ? 0 : 2048;

    /// <summary>Greatest length of an application's RSA key, in bits; 0 for None.</summary>
    public int MaximumKeyBits => IsNone ? 0 : 4096;

    /// <summary>Length of client and server nonce (SecureChannelNonceLength); 0 for None.</summary>
    public int NonceBytes => IsNone ? 0 : 32;

    /// <summary>Length of the signature of a symmetric message and of the key it is made with; 0 for None.</summary>
    public int SymmetricSignatureBytes => IsNone ? 0 : HMACSHA256.HashSizeInBytes;

    /// <summary>Length of the AES key: 16 or 32; 0 for None.</summary>
    public int SymmetricKeyBytes { get; }

    /// <summary>Length of an AES block and of the initialisation vector; 1 for None, so that nothing is padded.</summary>
    public int SymmetricBlockBytes => IsNone ? 1 : 16;

    /// <summary>What a SignatureData structure names as its algorithm; empty for None.</summary>
    public string AsymmetricSignatureUri { get => IsNone ? "" : field; }

    /// <summary>What a user token names as its encryption algorithm; empty for None.</summary>
    public string AsymmetricEncryptionUri { get => IsNone ? "" : field; }

    /// <summary>The policy of that URI; null if it is not one of <see cref="All"/>. URIs are compared exactly.</summary>
    public static SecurityPolicy? Find(string? uri) => All.FirstOrDefault(policy => policy.Uri == uri);

    /// <summary>The policy of that <see cref="Name"/>, whatever its capitals; null if it is not one of <see cref="All"/>.</summary>
    public static SecurityPolicy? FindByName(string? name) =>
        All.FirstOrDefault(policy => string.Equals(policy.Name, name, StringComparison.OrdinalIgnoreCase));

    /// <summary>
    /// One number to order endpoints by, the higher the stronger: the mode counts before the policy, because an unencrypted channel shows
    /// everything however long its keys are. 0 for the mode or policy None and for an invalid mode.
    /// </summary>
    public static int StrengthOf(SecurityPolicy policy, MessageSecurityMode mode) =>
        policy.IsNone || mode is not (MessageSecurityMode.Sign or MessageSecurityMode.SignAndEncrypt) ? 0 : ((int)mode * 10) + policy.Strength;

    public override string ToString() => Name;
}
