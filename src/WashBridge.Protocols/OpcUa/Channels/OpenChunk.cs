using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>The part of an OPN chunk in front of what is encrypted (OPC 10000-6, 6.7.2.2 and 6.7.2.3).</summary>
/// <param name="PolicyUri">Of the policy that protects the chunk.</param>
/// <param name="SenderChain">Certificate and issuers; empty for the policy None.</param>
/// <param name="ReceiverThumbprint">SHA-1 of the certificate whose key can decrypt the chunk; empty for the policy None.</param>
/// <param name="Length">Bytes; the sequence header follows.</param>
internal readonly record struct OpenHeader(uint ChannelId, string? PolicyUri, byte[] SenderChain, byte[] ReceiverThumbprint, int Length)
{
    private const int MaxPolicyUriBytes = 255;
    private const int MaxFieldBytes = 32 * 1024;

    private static readonly DecodingLimits Limits = new() { MaxStringLength = MaxFieldBytes, MaxArrayLength = 0, MaxDecodedBytes = 3 * MaxFieldBytes };

    public static OpenHeader Read(ReadOnlySpan<byte> chunk)
    {
        var reader = new UaReader(chunk, Limits);
        reader.ReadUInt64(); // chunk header
        var channel = reader.ReadUInt32();
        var uri = reader.ReadString();
        if (uri?.Length > MaxPolicyUriBytes)
        {
            throw reader.Malformed($"a policy URI of {uri.Length} characters; allowed: {MaxPolicyUriBytes}");
        }

        var chain = reader.ReadByteString() ?? [];
        return new OpenHeader(channel, uri, chain, reader.ReadByteString() ?? [], reader.Position);
    }
}

/// <summary>Protects the OPN chunks of one channel with the keys of the two certificates, or not at all under the policy None.</summary>
internal sealed class OpenChunk : IDisposable
{
    private const int SequenceHeaderBytes = 8;

    /// <summary>Modulus lengths up to this many bytes need one byte to tell the padding (OPC 10000-6, 6.7.2.5).</summary>
    private const int OneBytePaddingUpTo = 256;

    private readonly SecurityPolicy policy;
    private readonly ApplicationCertificate? own;
    private readonly System.Security.Cryptography.RSA? peerKey;
    private readonly byte[]? peerThumbprint;

    /// <exception cref="UaException">BadCertificateInvalid or BadSecurityChecksFailed: the peer's certificate cannot be used with the policy.</exception>
    public OpenChunk(SecurityPolicy policy, ApplicationCertificate? own, ReadOnlyMemory<byte> peerChain)
    {
        this.policy = policy;
        if (policy.IsNone)
        {
            return;
        }

        this.own = own;
        peerThumbprint = CertificateChain.LeafThumbprint(peerChain);
        peerKey = CertificateChain.LeafPublicKey(peerChain);
        if (peerKey.KeySize < policy.MinimumKeyBits || peerKey.KeySize > policy.MaximumKeyBits)
        {
            var found = peerKey.KeySize;
            peerKey.Dispose();
            throw new UaException(
                StatusCodes.BadCertificatePolicyCheckFailed,
                $"the peer's key has {found} bits; {policy.Name} allows {policy.MinimumKeyBits} to {policy.MaximumKeyBits}");
        }
    }

    /// <summary>Writes a whole OPN chunk.</summary>
    public void Write(UaWriter destination, uint channel, uint sequence, uint request, ReadOnlySpan<byte> body)
    {
        destination.Truncate();
        destination.Reserve(ChunkHeader.Bytes);
        destination.WriteUInt32(channel);
        destination.WriteString(policy.Uri);
        destination.WriteByteString(own?.Chain.ToArray());
        destination.WriteByteString(peerThumbprint);
        var protectedAt = destination.Length;
        destination.WriteUInt32(sequence);
        destination.WriteUInt32(request);
        destination.WriteBytes(body);
        if (policy.IsNone)
        {
            WriteHeader(destination, destination.Length);
            return;
        }

        WritePadding(destination, destination.Length - protectedAt);
        var signatureAt = destination.Length;
        destination.Reserve(policy.CipherBlockBytes(own!.PrivateKey));
        var plain = destination.Slice(protectedAt, destination.Length - protectedAt).ToArray();
        var cipher = plain.Length / policy.PlainBlockBytes(peerKey!) * policy.CipherBlockBytes(peerKey!);
        WriteHeader(destination, protectedAt + cipher);
        var signature = plain.AsSpan(signatureAt - protectedAt);
        policy.SignInto(own.PrivateKey, destination.Slice(0, signatureAt), signature);
        destination.Truncate(protectedAt);
        destination.Reserve(cipher);
        policy.Encrypt(peerKey!, plain, destination.Slice(protectedAt, cipher));
    }

    /// <summary>Decrypts a chunk and checks its signature.</summary>
    /// <param name="head">Of this chunk; that its certificate is to be trusted has been found out before.</param>
    /// <returns>Sequence number, request id and body.</returns>
    /// <exception cref="UaException">BadSecurityChecksFailed, always in the same words.</exception>
    public (uint Sequence, uint Request, byte[] Body) Read(ReadOnlySpan<byte> chunk, OpenHeader head)
    {
        var clear = policy.IsNone ? chunk[head.Length..].ToArray() : Unprotect(chunk, head.Length);
        var reader = new UaReader(clear, DecodingLimits.Default);
        return (reader.ReadUInt32(), reader.ReadUInt32(), clear[SequenceHeaderBytes..]);
    }

    public void Dispose() => peerKey?.Dispose();

    private static void WriteHeader(UaWriter chunk, int size) =>
        new ChunkHeader(ChunkType.Open, (byte)'F', (uint)size).Write(chunk.Slice(0, ChunkHeader.Bytes));

    private void WritePadding(UaWriter chunk, int before)
    {
        var extra = policy.CipherBlockBytes(peerKey!) > OneBytePaddingUpTo ? 1 : 0;
        var plainBlock = policy.PlainBlockBytes(peerKey!);
        var filled = before + 1 + extra + policy.CipherBlockBytes(own!.PrivateKey);
        var padding = (plainBlock - (filled % plainBlock)) % plainBlock;
        chunk.Reserve(1 + padding).Fill((byte)padding);
        if (extra > 0)
        {
            chunk.WriteByte((byte)(padding >> 8));
        }
    }

    private byte[] Unprotect(ReadOnlySpan<byte> chunk, int protectedAt)
    {
        var cipher = chunk[protectedAt..];
        var plain = new byte[cipher.Length];
        var length = policy.Decrypt(own!.PrivateKey, cipher, plain);
        var signatureAt = length - policy.CipherBlockBytes(peerKey!);
        var extra = policy.CipherBlockBytes(own.PrivateKey) > OneBytePaddingUpTo ? 1 : 0;
        if (signatureAt < SequenceHeaderBytes + 1 + extra)
        {
            throw NotGenuine();
        }

        byte[] signed = [.. chunk[..protectedAt], .. plain.AsSpan(0, signatureAt)];
        if (!policy.Verify(peerKey!, signed, plain.AsSpan(signatureAt, length - signatureAt)))
        {
            throw NotGenuine();
        }

        var padding = extra == 0 ? plain[signatureAt - 1] : plain[signatureAt - 2] | (plain[signatureAt - 1] << 8);
        var end = signatureAt - 1 - extra - padding;
        return end >= SequenceHeaderBytes ? plain[..end] : throw NotGenuine();
    }

    private static UaException NotGenuine() => new(StatusCodes.BadSecurityChecksFailed, "an OPN chunk is not what its sender made of it");
}
