using System.Buffers.Binary;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>Layout of the chunks of an open channel (OPC 10000-6, 6.7.2): header, channel, token | number, request, body, padding, signature.</summary>
internal static class SymmetricChunk
{
    public const int ChannelIdAt = ChunkHeader.Bytes;
    public const int TokenIdAt = 12;

    /// <summary>From here on it is encrypted.</summary>
    public const int SequenceAt = 16;
    public const int RequestIdAt = 20;
    public const int BodyAt = 24;

    /// <summary>Most bytes of a body that fit into one chunk.</summary>
    public static int MaxBody(ChannelSecurity security, int maxChunk)
    {
        var protectedBytes = maxChunk - SequenceAt;
        return security.Encrypts
            ? (protectedBytes / security.BlockBytes * security.BlockBytes) - (BodyAt - SequenceAt) - 1 - security.SignatureBytes
            : protectedBytes - (BodyAt - SequenceAt) - security.SignatureBytes;
    }

    /// <summary>Bytes of padding and signature that follow a body of this length.</summary>
    public static int TrailerBytes(ChannelSecurity security, int body)
    {
        if (!security.Encrypts)
        {
            return security.SignatureBytes;
        }

        var filled = BodyAt - SequenceAt + body + 1 + security.SignatureBytes;
        return (-filled & (security.BlockBytes - 1)) + 1 + security.SignatureBytes;
    }

    /// <summary>Completes a chunk whose body is in place already, and protects it in place.</summary>
    /// <param name="chunk">All of it, with room for the trailer.</param>
    public static void Seal(Span<byte> chunk, int body, ChannelSecurity security, ChannelToken token, ChunkHeader header, uint channel, uint sequence, uint request)
    {
        header.Write(chunk);
        BinaryPrimitives.WriteUInt32LittleEndian(chunk[ChannelIdAt..], channel);
        BinaryPrimitives.WriteUInt32LittleEndian(chunk[TokenIdAt..], token.Id);
        BinaryPrimitives.WriteUInt32LittleEndian(chunk[SequenceAt..], sequence);
        BinaryPrimitives.WriteUInt32LittleEndian(chunk[RequestIdAt..], request);
        if (!security.Signs)
        {
            return;
        }

        var signatureAt = chunk.Length - security.SignatureBytes;
        if (security.Encrypts)
        {
            // The length of the padding, as often as it says and once more.
            var padding = chunk[(BodyAt + body)..signatureAt];
            padding.Fill((byte)(padding.Length - 1));
        }

        token.Send!.Sign(chunk[..signatureAt], chunk[signatureAt..]);
        if (security.Encrypts)
        {
            token.Send.Encrypt(chunk[SequenceAt..]);
        }
    }

    /// <summary>Decrypts in place and checks the signature.</summary>
    /// <returns>Where the body ends.</returns>
    /// <exception cref="UaException">BadSecurityChecksFailed, always in the same words.</exception>
    public static int Open(Span<byte> chunk, ChannelSecurity security, ChannelToken token)
    {
        if (!security.Signs)
        {
            return chunk.Length;
        }

        if (security.Encrypts)
        {
            if ((chunk.Length - SequenceAt) % security.BlockBytes != 0)
            {
                throw NotGenuine();
            }

            token.Receive!.Decrypt(chunk[SequenceAt..]);
        }

        var signatureAt = chunk.Length - security.SignatureBytes;
        if (signatureAt < BodyAt || !token.Receive!.Verify(chunk[..signatureAt], chunk[signatureAt..]))
        {
            throw NotGenuine();
        }

        var end = security.Encrypts ? signatureAt - 1 - chunk[signatureAt - 1] : signatureAt;
        return end >= BodyAt ? end : throw NotGenuine();
    }

    private static UaException NotGenuine() => new(StatusCodes.BadSecurityChecksFailed, "a chunk is not what its sender made of it");
}
