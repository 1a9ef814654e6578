using System.Buffers.Binary;
using System.Security.Cryptography;
using CsCheck;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>Passwords, user certificates and session signatures (OPC 10000-4, 5.7.2, 5.7.3, 7.40 and 7.41).</summary>
public sealed class UserTokensTests
{
    private static readonly Gen<string> GenPassword = Gen.String[Gen.Char.Where(c => !char.IsSurrogate(c)), 0, 300];

    public static TheoryData<string> SecurePolicies => Keys.SecurePolicies;

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void A_password_comes_back_for_its_nonce_only_and_a_changed_byte_gives_nothing(string name) =>
        Gen.Select(GenPassword, Gen.Byte.Array[32], Gen.Int[0, 100_000], Gen.Byte[1, 255]).Sample(
            (password, nonce, where, change) =>
            {
                var policy = Keys.Policy(name);
                var encrypted = UserTokens.EncryptPassword(policy, Keys.First, password, nonce);
                Assert.Equal(password, Decrypted(policy, encrypted, nonce));
                byte[] other = [.. nonce];
                other[where % other.Length] ^= change;
                Assert.Null(Decrypted(policy, encrypted, other));
                encrypted[where % encrypted.Length] ^= change;
                Assert.Null(Decrypted(policy, encrypted, nonce));
            },
            iter: 40);

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void Passwords_around_the_ends_of_blocks_come_back_in_as_few_blocks_as_they_need(string name)
    {
        var policy = Keys.Policy(name);
        var block = policy.PlainBlockBytes(Keys.First);
        var nonce = RandomNumberGenerator.GetBytes(32);
        foreach (var blocks in new[] { 1, 2, 3 })
        {
            var fits = new string('x', (blocks * block) - 4 - 32);
            Assert.Equal(blocks * 256, UserTokens.EncryptPassword(policy, Keys.First, fits, nonce).Length);
            Assert.Equal((blocks + 1) * 256, UserTokens.EncryptPassword(policy, Keys.First, fits + "x", nonce).Length);
            Assert.Equal(fits, Decrypted(policy, UserTokens.EncryptPassword(policy, Keys.First, fits, nonce), nonce));
            Assert.Equal(fits + "x", Decrypted(policy, UserTokens.EncryptPassword(policy, Keys.First, fits + "x", nonce), nonce));
        }

        var longest = new string('x', UserTokens.MaxPasswordBytes);
        Assert.Equal(longest, Decrypted(policy, UserTokens.EncryptPassword(policy, Keys.First, longest, nonce), nonce));
        Assert.Throws<ArgumentException>(() => UserTokens.EncryptPassword(policy, Keys.First, longest + "x", nonce));
    }

    /// <summary>openssl decrypts; the layout is that of the legacy format in OPC 10000-4, 7.41.2.</summary>
    [Theory]
    [InlineData("Basic256Sha256", "sha1")]
    [InlineData("Aes128_Sha256_RsaOaep", "sha1")]
    [InlineData("Aes256_Sha256_RsaPss", "sha256")]
    public void Another_implementation_finds_length_password_and_nonce(string name, string hash)
    {
        using var folder = new TestFolder();
        var nonce = RandomNumberGenerator.GetBytes(32);
        File.WriteAllText(folder["key"], Keys.First.ExportPkcs8PrivateKeyPem());
        File.WriteAllBytes(folder["cipher"], UserTokens.EncryptPassword(Keys.Policy(name), Keys.First, "päss", nonce));
        OpenSsl.Run("pkeyutl", "-decrypt", "-inkey", folder["key"], "-in", folder["cipher"], "-out", folder["plain"], "-pkeyopt", "rsa_padding_mode:oaep", "-pkeyopt", "rsa_oaep_md:" + hash, "-pkeyopt", "rsa_mgf1_md:" + hash);
        Assert.Equal([37, 0, 0, 0, (byte)'p', 0xC3, 0xA4, (byte)'s', (byte)'s', .. nonce], File.ReadAllBytes(folder["plain"]));
    }

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void A_secret_of_a_wrong_form_gives_nothing(string name)
    {
        var policy = Keys.Policy(name);
        var nonce = RandomNumberGenerator.GetBytes(32);
        byte[] Token(uint length, params byte[] rest)
        {
            var plain = new byte[4 + rest.Length];
            BinaryPrimitives.WriteUInt32LittleEndian(plain, length);
            rest.CopyTo(plain, 4);
            var cipher = new byte[256];
            policy.Encrypt(Keys.First, plain, cipher);
            return cipher;
        }

        Assert.Equal("a", Decrypted(policy, Token(33, [(byte)'a', .. nonce]), nonce));
        Assert.Null(Decrypted(policy, Token(34, [(byte)'a', .. nonce]), nonce));
        Assert.Null(Decrypted(policy, Token(32, [(byte)'a', .. nonce]), nonce));
        Assert.Null(Decrypted(policy, Token(31, [(byte)'a', .. nonce]), nonce));
        Assert.Null(Decrypted(policy, Token(uint.MaxValue, [(byte)'a', .. nonce]), nonce));
        Assert.Null(Decrypted(policy, Token(0), nonce));
        Assert.Null(Decrypted(policy, Token(33, [0xFF, .. nonce]), nonce));
        var tooShort = new byte[256];
        policy.Encrypt(Keys.First, [1, 0], tooShort);
        Assert.Null(Decrypted(policy, tooShort, nonce));
        Assert.Null(Decrypted(policy, [], nonce));
        Assert.Null(Decrypted(policy, new byte[100], nonce));
        Assert.Null(Decrypted(policy, new byte[256 * 100], nonce));
    }

    [Fact]
    public void Another_algorithm_than_the_policys_is_refused_and_the_policy_none_protects_no_password()
    {
        var policy = SecurityPolicy.Aes256Sha256RsaPss;
        var encrypted = UserTokens.EncryptPassword(policy, Keys.First, "secret", []);
        Assert.Equal("secret", UserTokens.DecryptPassword(policy, Keys.First, policy.AsymmetricEncryptionUri, encrypted, []));
        Assert.Null(UserTokens.DecryptPassword(policy, Keys.First, SecurityPolicy.Basic256Sha256.AsymmetricEncryptionUri, encrypted, []));
        Assert.Null(UserTokens.DecryptPassword(policy, Keys.First, null, encrypted, []));
        Assert.Throws<InvalidOperationException>(() => UserTokens.EncryptPassword(SecurityPolicy.None, Keys.First, "secret", []));
        Assert.Throws<InvalidOperationException>(() => UserTokens.DecryptPassword(SecurityPolicy.None, Keys.First, "", "secret"u8, []));
    }

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void A_session_signature_is_over_the_end_certificate_and_the_nonce(string name)
    {
        var policy = Keys.Policy(name);
        var root = Authority.Root();
        var leaf = root.Issue(new Wish());
        byte[] chain = [.. leaf, .. root.Der];
        var nonce = RandomNumberGenerator.GetBytes(32);
        var signature = SessionSignature.Create(policy, Keys.Second, chain, nonce);
        Assert.True(policy.Verify(Keys.Second, [.. leaf, .. nonce], signature));
        bool Verifies(byte[] certificate, byte[] given, string? algorithm, byte[] signed) => SessionSignature.Verify(policy, Keys.Second, certificate, given, algorithm, signed);
        Assert.True(Verifies(chain, nonce, policy.AsymmetricSignatureUri, signature));
        Assert.True(Verifies(leaf, nonce, policy.AsymmetricSignatureUri, signature));
        Assert.True(Verifies(chain, nonce, policy.AsymmetricSignatureUri, policy.Sign(Keys.Second, chain, nonce)));
        Assert.False(Verifies(root.Der, nonce, policy.AsymmetricSignatureUri, signature));
        Assert.False(Verifies(chain, [.. nonce.Reverse()], policy.AsymmetricSignatureUri, signature));
        Assert.False(Verifies(chain, nonce, null, signature));
        Assert.False(Verifies(chain, nonce, policy.AsymmetricEncryptionUri, signature));
        Assert.False(Verifies(chain, nonce, policy.AsymmetricSignatureUri, []));
        Assert.False(SessionSignature.Verify(policy, Keys.First, chain, nonce, policy.AsymmetricSignatureUri, signature));
    }

    [Fact]
    public void Without_a_policy_sessions_sign_nothing_but_users_with_certificates_never_pass()
    {
        Assert.Empty(SessionSignature.Create(SecurityPolicy.None, Keys.First, Array.Empty<byte>(), []));
        Assert.True(SessionSignature.Verify(SecurityPolicy.None, Keys.First, Array.Empty<byte>(), [], null, []));
        Assert.False(UserTokens.Verify(SecurityPolicy.None, Keys.First, Authority.SelfSigned(new Wish()), [], null, []));
        Assert.Throws<InvalidOperationException>(() => UserTokens.Sign(SecurityPolicy.None, Keys.First, Authority.SelfSigned(new Wish()), []));
    }

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void A_user_proves_to_own_the_key_of_its_certificate(string name)
    {
        var policy = Keys.Policy(name);
        var server = Authority.SelfSigned(new Wish());
        var nonce = RandomNumberGenerator.GetBytes(32);
        var signature = UserTokens.Sign(policy, Keys.Second, server, nonce);
        Assert.True(UserTokens.Verify(policy, Keys.Second, server, nonce, policy.AsymmetricSignatureUri, signature));
        Assert.False(UserTokens.Verify(policy, Keys.First, server, nonce, policy.AsymmetricSignatureUri, signature));
    }

    private static string? Decrypted(SecurityPolicy policy, byte[] encrypted, byte[] nonce) =>
        UserTokens.DecryptPassword(policy, Keys.First, policy.AsymmetricEncryptionUri, encrypted, nonce);
}
