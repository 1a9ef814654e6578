using System.Security.Cryptography;
using CsCheck;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>Key derivation and the symmetric half, against published vectors and another implementation.</summary>
public sealed class ChannelKeysTests
{
    private const string PlainText = "6bc1bee22e409f96e93d7e117393172aae2d8a571e03ac9c9eb76fac45af8e5130c81c46a35ce411e5fbc1191a0a52eff69f2445df4f9b17ad2b417be66c3710";
    private static readonly byte[] Zeros = new byte[32];

    public static TheoryData<string> SecurePolicies => Keys.SecurePolicies;

    /// <summary>NIST SP 800-38A, F.2.1, F.2.2 (AES-128) and F.2.5, F.2.6 (AES-256).</summary>
    [Theory]
    [InlineData("2b7e151628aed2a6abf7158809cf4f3c", "7649abac8119b246cee98e9b12e9197d5086cb9b507219ee95db113a917678b273bed6b8e3c1743b7116e69e222295163ff1caa1681fac09120eca307586e1a7")]
    [InlineData("603deb1015ca71be2b73aef0857d77811f352c073b6108d72d9810a30914dff4", "f58c4c04d6e5f1ba779eabfb5f7bfbd69cfc4e967edb808d679f777bc6702c7d39f23369a9d9bacfa530e26304231461b2eb05e2c39be9fcda6c19078c6a9d1b")]
    public void Aes_in_cbc_mode_gives_the_published_values(string key, string cipherText)
    {
        using var keys = new ChannelKeys(Zeros, Convert.FromHexString(key), Convert.FromHexString("000102030405060708090a0b0c0d0e0f"));
        for (var message = 0; message < 3; message++)
        {
            // Every message starts from the derived vector, so that the same text gives the same bytes each time.
            var data = Convert.FromHexString(PlainText);
            keys.Encrypt(data);
            Assert.Equal(cipherText, Convert.ToHexStringLower(data));
            keys.Decrypt(data);
            Assert.Equal(PlainText, Convert.ToHexStringLower(data));
        }
    }

    /// <summary>RFC 4231, 4.2, 4.3 and 4.4.</summary>
    [Theory]
    [InlineData("0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b0b", "4869205468657265", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7")]
    [InlineData("4a656665", "7768617420646f2079612077616e7420666f72206e6f7468696e673f", "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843")]
    [InlineData("aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa", "dddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddddd", "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe")]
    public void Signatures_are_the_published_hmacs(string key, string data, string signature)
    {
        using var keys = new ChannelKeys(Convert.FromHexString(key), Zeros, new byte[16]);
        var computed = new byte[32];
        keys.Sign(Convert.FromHexString(data), computed);
        Assert.Equal(signature, Convert.ToHexStringLower(computed));
    }

    /// <summary>The TLS 1.2 pseudo-random function with SHA-256, as posted to the IETF's TLS list; its label is the front of our seed. Value from memory.</summary>
    [Fact]
    public void The_derivation_gives_the_values_known_from_tls()
    {
        var output = new byte[100];
        byte[] seed = [.. "test label"u8, .. Convert.FromHexString("a0ba9f936cda311827a6f796ffd5198c")];
        KeyDerivation.PSha256(Convert.FromHexString("9bbe436ba940f017b17652849a71db35"), seed, output);
        Assert.Equal(
            "e3f229ba727be17b8d122620557cd453c2aab21d07c3d495329b52d4e61edb5a6b301791e90d35c9c9a46b4e14baf9af0fa022f7077def17abfd3797c0564bab4fbc91666e9def9b97fce34f796789baa48082d122ee42c5a72e5a5110fff70187347b66",
            Convert.ToHexStringLower(output));
    }

    /// <summary>openssl derives, signs and encrypts by its own means: the order and lengths of the keys are those of OPC 10000-6, 6.7.5.</summary>
    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void Another_implementation_derives_and_uses_the_same_keys(string name)
    {
        using var folder = new TestFolder();
        var policy = Keys.Policy(name);
        var (secret, seed, text) = (RandomNumberGenerator.GetBytes(32), RandomNumberGenerator.GetBytes(32), RandomNumberGenerator.GetBytes(160));
        var length = 32 + policy.SymmetricKeyBytes + 16;
        var derived = OpenSsl.Run("kdf", "-keylen", $"{length}", "-kdfopt", "digest:SHA256", "-kdfopt", $"hexsecret:{Convert.ToHexString(secret)}", "-kdfopt", $"hexseed:{Convert.ToHexString(seed)}", "TLS1-PRF")
            .Replace(":", "").Trim();
        File.WriteAllBytes(folder["text"], text);
        OpenSsl.Run("enc", policy.SymmetricKeyBytes == 16 ? "-aes-128-cbc" : "-aes-256-cbc", "-nopad", "-K", derived[64..^32], "-iv", derived[^32..], "-in", folder["text"], "-out", folder["cipher"]);
        var signature = OpenSsl.Run("mac", "-digest", "SHA256", "-macopt", $"hexkey:{derived[..64]}", "-in", folder["text"], "HMAC").Trim();

        using var keys = ChannelKeys.Derive(policy, secret, seed);
        Assert.True(keys.Verify(text, Convert.FromHexString(signature)));
        var encrypted = text.ToArray();
        keys.Encrypt(encrypted);
        Assert.Equal(File.ReadAllBytes(folder["cipher"]), encrypted);
    }

    [Theory]
    [MemberData(nameof(SecurePolicies))]
    public void Messages_of_every_length_come_back_and_a_changed_byte_is_noticed(string name) =>
        Gen.Select(Gen.Byte.Array[32], Gen.Byte.Array[32], Gen.Int[0, 1100], Gen.Int[0, 20_000], Gen.Byte[1, 255]).Sample(
            (secret, seed, blocks, where, change) =>
            {
                using var sending = ChannelKeys.Derive(Keys.Policy(name), secret, seed);
                using var receiving = ChannelKeys.Derive(Keys.Policy(name), secret, seed);
                var text = new byte[16 * blocks];
                new Random(where).NextBytes(text);
                var message = new byte[text.Length + 32];
                text.CopyTo(message, 0);
                sending.Sign(text, message.AsSpan(text.Length));
                sending.Encrypt(message);
                var faulty = message.ToArray();
                faulty[where % faulty.Length] ^= change;

                receiving.Decrypt(faulty);
                Assert.False(receiving.Verify(faulty.AsSpan(0, text.Length), faulty.AsSpan(text.Length)));
                receiving.Decrypt(message);
                Assert.Equal(text, message[..text.Length]);
                Assert.True(receiving.Verify(message.AsSpan(0, text.Length), message.AsSpan(text.Length)));
            },
            iter: 100);

    [Fact]
    public void Lengths_that_do_not_fit_are_refused()
    {
        using var keys = ChannelKeys.Derive(SecurityPolicy.Basic256Sha256, Zeros, Zeros);
        Assert.Throws<ArgumentException>(() => keys.Encrypt(new byte[15]));
        Assert.Throws<ArgumentException>(() => keys.Decrypt(new byte[17]));
        Assert.Throws<ArgumentOutOfRangeException>(() => keys.Sign([1], new byte[31]));
        Assert.False(keys.Verify([1], new byte[31]));
        Assert.Throws<ArgumentException>(() => ChannelKeys.Derive(SecurityPolicy.None, [], []));
        Assert.Throws<ArgumentException>(() => ChannelKeys.Derive(SecurityPolicy.Basic256Sha256, new byte[31], Zeros));
        Assert.Throws<ArgumentException>(() => ChannelKeys.Derive(SecurityPolicy.Basic256Sha256, Zeros, new byte[33]));
    }

    [Fact]
    public void A_message_costs_no_more_than_an_empty_array_once_the_keys_are_in_use()
    {
        using var keys = ChannelKeys.Derive(SecurityPolicy.Basic256Sha256, Zeros, Zeros);
        var (message, signature) = (new byte[4096], new byte[32]);
        void Use()
        {
            keys.Sign(message, signature);
            keys.Encrypt(message);
            keys.Decrypt(message);
            keys.Verify(message, signature);
        }

        Use();
        var before = GC.GetAllocatedBytesForCurrentThread();
        for (var i = 0; i < 100; i++)
        {
            Use();
        }

        // .NET's transform hands back an empty array of its own at the end of each message, 24 bytes on 64 bit.
        Assert.InRange((GC.GetAllocatedBytesForCurrentThread() - before) / 100, 0, 48);
    }
}
