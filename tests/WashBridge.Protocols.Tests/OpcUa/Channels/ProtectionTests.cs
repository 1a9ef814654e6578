using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>What certificates and keys protect against (OPC 10000-6, 6.7.6; OPC 10000-4, 6.1.3).</summary>
public sealed class ProtectionTests
{
    /// <summary>
    /// Keys of more than 2,048 bits tell their padding in two bytes (OPC 10000-6, 6.7.2.5), on both sides: each combination of key lengths.
    /// </summary>
    [Theory]
    [InlineData(2048, 3072)]
    [InlineData(3072, 2048)]
    [InlineData(4096, 4096)]
    public async Task Keys_of_any_allowed_length_open_a_channel(int clientBits, int serverBits)
    {
        foreach (var policy in SecurityPolicy.All.Where(p => !p.IsNone))
        {
            var (client, server) = (ChannelPair.CertificatesOf(clientBits).Client, ChannelPair.CertificatesOf(serverBits).Server);
            await using var pair = await ChannelPair.OpenAsync(
                MemoryConnection.Create(),
                ChannelPair.ClientOptions(policy, MessageSecurityMode.SignAndEncrypt) with { Certificate = client, ServerCertificate = server.Der },
                ChannelPair.ServerOptions(policy, MessageSecurityMode.SignAndEncrypt) with { Certificate = server, ValidateClient = _ => StatusCodes.Good });
            var serving = pair.ServeAsync();

            Assert.Equal(5, (await pair.ReadAsync(5)).Body.Results.Count);
            Assert.Equal(client.Der, pair.Server.ClientCertificate);
            await pair.Client.DisposeAsync();
            await serving;
        }
    }

    /// <summary>OPC 10000-4, 5.6.2.3 and 6.1.3: what a certificate says of itself may be told, whom the server trusts may not.</summary>
    [Theory]
    [InlineData("BadCertificateUntrusted", "BadSecurityChecksFailed")]
    [InlineData("BadCertificateRevoked", "BadSecurityChecksFailed")]
    [InlineData("BadCertificateIssuerRevocationUnknown", "BadSecurityChecksFailed")]
    [InlineData("BadCertificateTimeInvalid", "BadCertificateTimeInvalid")]
    [InlineData("BadCertificateUriInvalid", "BadCertificateUriInvalid")]
    public async Task A_refused_certificate_learns_no_more_than_it_may(string verdict, string told)
    {
        var connection = MemoryConnection.Create();
        var options = ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign) with { ValidateClient = _ => Code(verdict) };
        var accept = RawPeer.AcceptAsync(connection, options);

        var refused = await Assert.ThrowsAsync<UaException>(() =>
            RawPeer.OpenAsync(connection, ChannelPair.ClientOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign)));

        Assert.Equal(Code(told), refused.Status);
        Assert.Equal(Code(verdict), (await Assert.ThrowsAsync<UaException>(() => accept)).Status);
    }

    /// <summary>What follows the header cannot be decrypted at all, and that is not what is found: the certificate is looked at first.</summary>
    [Fact]
    public async Task Nothing_is_decrypted_before_the_certificate_is_found_good()
    {
        var validated = new List<byte[]>();
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection, ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign) with
        {
            ValidateClient = chain =>
            {
                validated.Add(chain.ToArray());
                return StatusCodes.BadCertificateUntrusted;
            },
        });
        var (certificate, server) = ChannelPair.CertificatesOf();
        await SendGarbageAsync(connection, certificate.Chain.ToArray(), server.Thumbprint);

        Assert.Equal(StatusCodes.BadCertificateUntrusted, (await Assert.ThrowsAsync<UaException>(() => accept)).Status);
        Assert.Equal([certificate.Chain.ToArray()], validated);
    }

    [Fact]
    public async Task What_cannot_be_decrypted_is_refused_without_a_reason()
    {
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection, ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign));
        var (certificate, server) = ChannelPair.CertificatesOf();

        var client = await SendGarbageAsync(connection, certificate.Chain.ToArray(), server.Thumbprint);

        var error = await client.ReceiveAsync("ERR");
        Assert.Equal(StatusCodes.BadSecurityChecksFailed, RawPeer.ErrorOf(error));
        Assert.Equal(8 + 4 + 4, error.Length);
        await Assert.ThrowsAsync<UaException>(() => accept);
    }

    [Fact]
    public async Task A_message_for_another_certificate_is_refused()
    {
        var connection = MemoryConnection.Create();
        var accept = RawPeer.AcceptAsync(connection, ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign));

        var client = await SendGarbageAsync(connection, ChannelPair.CertificatesOf().Client.Chain.ToArray(), new byte[20]);

        Assert.Equal(StatusCodes.BadCertificateInvalid, await client.ReceiveErrorAsync());
        await Assert.ThrowsAsync<UaException>(() => accept);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(10)]
    [InlineData(20_000)]
    public async Task Something_that_is_no_certificate_is_refused(int bytes)
    {
        var connection = MemoryConnection.Create();
        var options = ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign) with { ValidateClient = _ => StatusCodes.Good };
        var accept = RawPeer.AcceptAsync(connection, options);

        var client = await SendGarbageAsync(connection, new byte[bytes], ChannelPair.CertificatesOf().Server.Thumbprint);

        Assert.Equal(bytes > 16_384 ? StatusCodes.BadTcpMessageTooLarge : StatusCodes.BadCertificateInvalid, await client.ReceiveErrorAsync());
        await Assert.ThrowsAsync<UaException>(() => accept);
    }

    /// <summary>Somebody who has copied a certificate, but not its key.</summary>
    [Fact]
    public async Task A_stolen_certificate_opens_nothing()
    {
        var connection = MemoryConnection.Create();
        var (trusted, _) = ChannelPair.CertificatesOf();
        var thief = ChannelPair.CertificatesOf(3072).Client;
        connection.Client.Tamper = bytes => Replace(bytes, thief.Der.ToArray(), trusted.Der.ToArray());
        var accept = RawPeer.AcceptAsync(connection, ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign));

        var refused = await Assert.ThrowsAsync<UaException>(() =>
            RawPeer.OpenAsync(connection, ChannelPair.ClientOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign) with { Certificate = thief }));

        Assert.Equal(StatusCodes.BadSecurityChecksFailed, refused.Status);
        await Assert.ThrowsAsync<UaException>(() => accept);
    }

    [Fact]
    public async Task The_client_opens_no_channel_to_a_server_with_another_certificate()
    {
        var connection = MemoryConnection.Create();
        var (other, expected) = (ChannelPair.CertificatesOf(3072).Server, ChannelPair.CertificatesOf().Server);
        var accept = RawPeer.AcceptAsync(connection, ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign) with { Certificate = other });

        var refused = await Assert.ThrowsAsync<UaException>(() =>
            RawPeer.OpenAsync(connection, ChannelPair.ClientOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign) with { ServerCertificate = expected.Der }));

        Assert.Equal(StatusCodes.BadCertificateInvalid, refused.Status);
        await Assert.ThrowsAsync<UaException>(() => accept);
    }

    /// <summary>Every byte of a request, changed: the server takes none of them, and says no more than it must.</summary>
    [Theory]
    [InlineData(MessageSecurityMode.Sign)]
    [InlineData(MessageSecurityMode.SignAndEncrypt)]
    public async Task No_changed_byte_passes(MessageSecurityMode mode)
    {
        var length = 0;
        for (var at = 0; at == 0 || at < length; at += at < 40 ? 1 : 13)
        {
            var connection = MemoryConnection.Create();
            var position = at;
            await using var pair = await ChannelPair.OpenAsync(
                connection, ChannelPair.ClientOptions(SecurityPolicy.Basic256Sha256, mode), ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, mode));
            connection.Client.Tamper = bytes =>
            {
                connection.Client.Tamper = null;
                length = bytes.Length;

                // Of the size only what makes the chunk shorter: the server would wait for more otherwise.
                bytes[position] = position is >= 4 and < 8 ? (byte)(bytes[position] & 0x20) : (byte)(bytes[position] ^ 0x10);
                return bytes;
            };
            var original = pair.ReadAsync(20);

            if (position is >= 5 and < 8)
            {
                continue;
            }

            Assert.Null(await pair.Server.ReceiveAsync(TestContext.Current.CancellationToken));
            Assert.True((await Assert.ThrowsAsync<UaException>(() => original)).Status.IsBad);
        }

        Assert.True(length > 300);
    }

    [Fact]
    public async Task A_replayed_request_is_not_taken_twice()
    {
        var connection = MemoryConnection.Create();
        await using var pair = await ChannelPair.OpenAsync(
            connection,
            ChannelPair.ClientOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.SignAndEncrypt),
            ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.SignAndEncrypt));
        connection.Client.Tamper = bytes => [.. bytes, .. bytes];
        var read = pair.ReadAsync();

        using var once = await pair.Server.ReceiveAsync(TestContext.Current.CancellationToken);
        Assert.NotNull(once);
        Assert.Null(await pair.Server.ReceiveAsync(TestContext.Current.CancellationToken));
        Assert.Equal(StatusCodes.BadSequenceNumberInvalid, (await Assert.ThrowsAsync<UaException>(() => read)).Status);
    }

    [Theory]
    [InlineData(MessageSecurityMode.Sign, true)]
    [InlineData(MessageSecurityMode.SignAndEncrypt, false)]
    public async Task Only_encrypted_requests_hide_their_content(MessageSecurityMode mode, bool isVisible)
    {
        var seen = new List<byte[]>();
        var connection = MemoryConnection.Create();
        await using var pair = await ChannelPair.OpenAsync(
            connection, ChannelPair.ClientOptions(SecurityPolicy.Aes128Sha256RsaOaep, mode), ChannelPair.ServerOptions(SecurityPolicy.Aes128Sha256RsaOaep, mode));
        connection.Client.Tamper = bytes =>
        {
            seen.Add(bytes);
            return bytes;
        };

        _ = pair.ReadAsync(100);
        using var request = await pair.ReceiveAsync();

        // Attribute 13, the value, and an absent index range: a hundred times in the request.
        byte[] content = [0x0D, 0, 0, 0, 0xFF, 0xFF, 0xFF, 0xFF];
        Assert.Equal(isVisible, Assert.Single(seen).AsSpan().IndexOf(content) >= 0);
    }

    [Fact]
    public void Contradicting_options_are_refused_before_anything_is_sent()
    {
        var options = ChannelPair.ClientOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign);
        Assert.Throws<ArgumentException>(() => (options with { Mode = MessageSecurityMode.None }).Validate());
        Assert.Throws<ArgumentException>(() => (options with { Policy = SecurityPolicy.None }).Validate());
        Assert.ThrowsAny<ArgumentException>(() => (options with { Certificate = null }).Validate());
        Assert.Throws<ArgumentException>(() => (options with { ServerCertificate = default }).Validate());
        Assert.Throws<ArgumentException>(() => (options with { Endpoint = new Uri("https://localhost") }).Validate());
        Assert.ThrowsAny<ArgumentException>(() => (options with { TokenLifetime = TimeSpan.Zero }).Validate());
        Assert.ThrowsAny<ArgumentException>(() => (options with { Limits = new TransportLimits { SendBufferSize = 8191 } }).Validate());
        options.Validate();
        var server = ChannelPair.ServerOptions(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign);
        Assert.Throws<ArgumentException>(() => (server with { Allowed = [] }).Validate());
        Assert.Throws<ArgumentException>(() => (server with { Certificate = null }).Validate());
        Assert.ThrowsAny<ArgumentException>(() => (server with { MaxTokenLifetime = TimeSpan.FromSeconds(5) }).Validate());
        server.Validate();
    }

    private static async Task<RawPeer> SendGarbageAsync(MemoryConnection connection, byte[] certificate, byte[] thumbprint)
    {
        var client = new RawPeer(connection.Client);
        await client.SendHelloAsync();
        await client.ReceiveAsync("ACK");
        await client.SendOpenChunkAsync(0, SecurityPolicy.Basic256Sha256.Uri, certificate, thumbprint, w => w.Reserve(512));
        return client;
    }

    private static byte[] Replace(byte[] bytes, byte[] what, byte[] with)
    {
        var at = bytes.AsSpan().IndexOf(what);
        if (at < 0)
        {
            return bytes;
        }

        byte[] changed = [.. bytes.AsSpan(0, at - 4), .. BitConverter.GetBytes(with.Length), .. with, .. bytes.AsSpan(at + what.Length)];
        BitConverter.TryWriteBytes(changed.AsSpan(4), changed.Length);
        return changed;
    }

    private static StatusCode Code(string name) => (StatusCode)typeof(StatusCodes).GetField(name)!.GetValue(null)!;
}
