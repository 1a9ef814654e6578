using System.Security.Cryptography;
using CsCheck;
using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>What the policies say of themselves, and RSA under each of them.</summary>
public sealed class SecurityPolicyTests
{
    public static TheoryData<string> SecurePolicies => Keys.SecurePolicies;

    /// <summary>OPC 10000-7, security policy facets; values from memory.</summary>
    [Theory]
    [InlineData("Basic256Sha256", 32, "http://www.w3.org/2001/04/xmldsig-more#rsa-sha256", "http://www.w3.org/2001/04/xmlenc#rsa-oaep", 214)]
    [InlineData("Aes128_Sha256_RsaOaep", 16, "http://www.w3.org/2001/04/xmldsig-more#rsa-sha256", "http://www.w3.org/2001/04/xmlenc#rsa-oaep", 214)]
    [InlineData("Aes256_Sha256_RsaPss", 32, "http://opcfoundation.org/UA/security/rsa-pss-sha2-256", "http://opcfoundation.org/UA/security/rsa-oaep-sha2-256", 190)]
    public void Each_policy_has_the_lengths_and_algorithms_of_its_profile(string name, int keyBytes, string signature, string encryption, int plainBytes)
    {
        var policy = SecurityPolicy.Find("http://opcfoundation.org/UA/SecurityPolicy#" + name)!;
        Assert.Equal(name, policy.Name);
        Assert.Equal((2048, 4096), (policy.MinimumKeyBits, policy.MaximumKeyBits));
        Assert.Equal((32, 32, keyBytes, 16), (policy.NonceBytes, policy.SymmetricSignatureBytes, policy.SymmetricKeyBytes, policy.SymmetricBlockBytes));
        Assert.Equal((signature, encryption), (policy.AsymmetricSignatureUri, policy.AsymmetricEncryptionUri));
        Assert.Equal((plainBytes, 256), (policy.PlainBlockBytes(Keys.First), policy.CipherBlockBytes(Keys.First)));
    }

    [Theory]
    [InlineData("http://opcfoundation.org/UA/SecurityPolicy#Basic256")]
    [InlineData("http://opcfoundation.org/UA/SecurityPolicy#Basic128Rsa15")]
    [InlineData("http://opcfoundation.org/UA/SecurityPolicy#none")]
    [InlineData("")]
    [InlineData(null)]
    public void A_withdrawn_or_unknown_policy_is_not_found(string? uri) => Assert.Null(SecurityPolicy.Find(uri));

    [Fact]
    public void An_unencrypted_channel_is_weaker_than_any_encrypted_one_and_no_security_is_the_weakest()
    {
        var ordered = SecurityPolicy.All
            .SelectMany(policy => Enum.GetValues<MessageSecurityMode>(), (policy, mode) => (Policy: policy, Mode: mode))
            .OrderByDescending(pair => SecurityPolicy.StrengthOf(pair.Policy, pair.Mode))
            .Select(pair => $"{pair.Mode} {pair.Policy}")
            .Take(6);
        Assert.Equal(
            ["SignAndEncrypt Aes256_Sha256_RsaPss", "SignAndEncrypt Basic256Sha256", "SignAndEncrypt Aes128_Sha256_RsaOaep", "Sign Aes256_Sha256_RsaPss", "Sign Basic256Sha256", "Sign Aes128_Sha256_RsaOaep"],
            ordered);
        Assert.Equal(0, SecurityPolicy.StrengthOf(SecurityPolicy.None, MessageSecurityMode.SignAndEncrypt));
        Assert.Equal(0, SecurityPolicy.StrengthOf(SecurityPolicy.Aes256Sha256RsaPss, MessageSecurityMode.None));
    }

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void What_is_signed_is_verified_and_no_change_to_any_byte_is(string name) =>
        Gen.Select(Gen.Byte.Array[0, 300], Gen.Byte.Array[0, 40], Gen.Int[0, 10_000], Gen.Byte[1, 255]).Sample(
            (first, second, where, change) =>
            {
                var policy = Keys.Policy(name);
                var signature = policy.Sign(Keys.First, first, second);
                byte[] joined = [.. first, .. second];
                Assert.Equal(256, signature.Length);
                Assert.True(policy.Verify(Keys.First, joined, signature));
                Assert.True(policy.Verify(Keys.First, first, second, signature));
                Assert.False(policy.Verify(Keys.Second, joined, signature));
                byte[] all = [.. joined, .. signature];
                all[where % all.Length] ^= change;
                Assert.False(policy.Verify(Keys.First, all.AsSpan(0, joined.Length), all.AsSpan(joined.Length)));
            },
            iter: 60);

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void A_signature_of_a_wrong_length_is_refused_without_an_exception(string name)
    {
        var policy = Keys.Policy(name);
        var signature = policy.Sign(Keys.First, [1, 2, 3]);
        foreach (var length in new[] { 0, 1, 255, 257, 512 })
        {
            var resized = signature.ToArray();
            Array.Resize(ref resized, length);
            Assert.False(policy.Verify(Keys.First, [1, 2, 3], resized));
        }
    }

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void A_signature_is_written_where_it_belongs_and_nowhere_else(string name)
    {
        var policy = Keys.Policy(name);
        var message = new byte[256];
        policy.SignInto(Keys.First, [1, 2, 3], message);
        Assert.True(policy.Verify(Keys.First, [1, 2, 3], message));
        Assert.Throws<ArgumentException>(() => policy.SignInto(Keys.First, [1, 2, 3], new byte[255]));
        Assert.Throws<ArgumentException>(() => policy.SignInto(Keys.First, [1, 2, 3], new byte[257]));
    }

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void Every_length_up_to_several_blocks_survives_encryption(string name) =>
        Gen.Select(Gen.Byte.Array[0, 900], Gen.Bool.Select(isOdd => isOdd ? Keys.Of3072Bits : Keys.First)).Sample(
            (plain, key) =>
            {
                var policy = Keys.Policy(name);
                var (plainBlock, cipherBlock) = (policy.PlainBlockBytes(key), policy.CipherBlockBytes(key));
                var blocks = (plain.Length + plainBlock - 1) / plainBlock;
                var cipher = new byte[blocks * cipherBlock];
                policy.Encrypt(key, plain, cipher);
                if (blocks == 0)
                {
                    return;
                }

                var decrypted = new byte[blocks * plainBlock];
                Assert.Equal(plain.Length, policy.Decrypt(key, cipher, decrypted));
                Assert.Equal(plain, decrypted[..plain.Length]);
            },
            iter: 40);

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void A_cipher_text_changed_anywhere_or_of_a_wrong_length_is_refused_in_the_same_words(string name)
    {
        var policy = Keys.Policy(name);
        var plain = new byte[policy.PlainBlockBytes(Keys.First) + 7];
        var cipher = new byte[512];
        policy.Encrypt(Keys.First, plain, cipher);
        var said = new HashSet<string>();
        void Refuses(byte[] faulty)
        {
            var refused = Assert.Throws<UaException>(() => policy.Decrypt(Keys.First, faulty, new byte[600]));
            Assert.Equal(StatusCodes.BadSecurityChecksFailed, refused.Status);
            said.Add(refused.Message);
        }

        for (var at = 0; at < cipher.Length; at += 17)
        {
            var faulty = cipher.ToArray();
            faulty[at] ^= 0x40;
            Refuses(faulty);
        }

        Refuses([]);
        Refuses(cipher[..511]);
        Refuses([.. cipher, 0]);
        Assert.Single(said);
    }

    [Fact]
    public void Too_little_room_for_the_plain_text_is_told_apart_from_a_bad_cipher_text()
    {
        var policy = SecurityPolicy.Basic256Sha256;
        var cipher = new byte[256];
        policy.Encrypt(Keys.First, [1], cipher);
        Assert.Throws<ArgumentException>(() => policy.Decrypt(Keys.First, cipher, new byte[213]));
        Assert.Equal(1, policy.Decrypt(Keys.First, cipher, new byte[214]));
    }

    [Fact]
    public async Task One_private_key_serves_several_threads_at_once()
    {
        var policy = SecurityPolicy.Aes256Sha256RsaPss;
        using var key = RSA.Create(2048);
        await Task.WhenAll(Enumerable.Range(0, 4).Select(thread => Task.Run(() =>
        {
            var (cipher, plain) = (new byte[256], new byte[190]);
            for (var i = 0; i < 50; i++)
            {
                byte[] data = [(byte)thread, (byte)i];
                Assert.True(policy.Verify(key, data, policy.Sign(key, data)));
                policy.Encrypt(key, data, cipher);
                Assert.Equal(2, policy.Decrypt(key, cipher, plain));
                Assert.Equal(data, plain[..2]);
            }
        })));
    }

    [Fact]
    public void The_policy_none_has_no_lengths_and_does_not_pretend_to_sign_or_encrypt()
    {
        var none = SecurityPolicy.None;
        Assert.Equal((0, 0, 0, 1, "", ""), (none.NonceBytes, none.SymmetricSignatureBytes, none.SymmetricKeyBytes, none.SymmetricBlockBytes, none.AsymmetricSignatureUri, none.AsymmetricEncryptionUri));
        Assert.Throws<InvalidOperationException>(() => none.Sign(Keys.First, [1]));
        Assert.Throws<InvalidOperationException>(() => none.Verify(Keys.First, [1], [1]));
        Assert.Throws<InvalidOperationException>(() => none.Encrypt(Keys.First, [1], new byte[256]));
        Assert.Throws<InvalidOperationException>(() => none.Decrypt(Keys.First, new byte[256], new byte[256]));
    }

    /// <summary>openssl reads what we encrypted and verifies what we signed; we read what it encrypted and verify what it signed.</summary>
    [Theory]
    [InlineData("Aes128_Sha256_RsaOaep", "sha1", "pkcs1")]
    [InlineData("Basic256Sha256", "sha1", "pkcs1")]
    [InlineData("Aes256_Sha256_RsaPss", "sha256", "pss")]
    public void Another_implementation_agrees_both_ways(string name, string oaepHash, string signaturePadding)
    {
        using var folder = new TestFolder();
        var policy = Keys.Policy(name);
        File.WriteAllText(folder["key"], Keys.First.ExportPkcs8PrivateKeyPem());
        var plain = RandomNumberGenerator.GetBytes(policy.PlainBlockBytes(Keys.First));
        var hash = SHA256.HashData(plain);
        File.WriteAllBytes(folder["plain"], plain);
        File.WriteAllBytes(folder["hash"], hash);
        string[] oaep = ["-pkeyopt", "rsa_padding_mode:oaep", "-pkeyopt", "rsa_oaep_md:" + oaepHash, "-pkeyopt", "rsa_mgf1_md:" + oaepHash];
        string[] signing = ["-pkeyopt", "digest:sha256", "-pkeyopt", "rsa_padding_mode:" + signaturePadding, .. signaturePadding == "pss" ? ["-pkeyopt", "rsa_pss_saltlen:32"] : Array.Empty<string>()];

        var cipher = new byte[256];
        policy.Encrypt(Keys.First, plain, cipher);
        File.WriteAllBytes(folder["cipher"], cipher);
        OpenSsl.Run(["pkeyutl", "-decrypt", "-inkey", folder["key"], "-in", folder["cipher"], "-out", folder["decrypted"], .. oaep]);
        Assert.Equal(plain, File.ReadAllBytes(folder["decrypted"]));

        OpenSsl.Run(["pkeyutl", "-encrypt", "-inkey", folder["key"], "-in", folder["plain"], "-out", folder["theirs"], .. oaep]);
        var decrypted = new byte[plain.Length];
        Assert.Equal(plain.Length, policy.Decrypt(Keys.First, File.ReadAllBytes(folder["theirs"]), decrypted));
        Assert.Equal(plain, decrypted);

        File.WriteAllBytes(folder["signature"], policy.Sign(Keys.First, plain));
        Assert.Contains("Verified Successfully", OpenSsl.Run(["pkeyutl", "-verify", "-inkey", folder["key"], "-in", folder["hash"], "-sigfile", folder["signature"], .. signing]));

        OpenSsl.Run(["pkeyutl", "-sign", "-inkey", folder["key"], "-in", folder["hash"], "-out", folder["signed"], .. signing]);
        Assert.True(policy.Verify(Keys.First, plain, File.ReadAllBytes(folder["signed"])));
    }
}
