using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <content>The tokens that follow the first one (OPC 10000-6, 6.7.4).</content>
public sealed partial class ServerChannel
{
    /// <summary>Each renewal costs operations with the private key: more in a row is an attack.</summary>
    private const int RenewalsAtOnce = 4;

    private int renewalsLeft;
    private long lastRefill;

    /// <summary>The same client, the same policy, the same mode: only the keys are new.</summary>
    private Renewal TakeRenewal(ReadOnlySpan<byte> chunk)
    {
        CountRenewal();
        var head = OpenHeader.Read(chunk);
        if (head.ChannelId != ChannelId)
        {
            throw new UaException(StatusCodes.BadTcpSecureChannelUnknown, $"an OPN chunk for channel {head.ChannelId} instead of {ChannelId}");
        }

        if (head.PolicyUri != Policy.Uri)
        {
            throw new UaException(StatusCodes.BadSecurityPolicyRejected, $"a renewal under the policy \"{head.PolicyUri}\" instead of {Policy}");
        }

        if (!Policy.IsNone && !head.SenderChain.AsSpan().SequenceEqual(ClientCertificate.Span))
        {
            throw new UaException(StatusCodes.BadSecurityChecksFailed, "a renewal with another certificate");
        }

        CheckClient(Policy, head);
        var (sequence, requestId, body) = openChunk!.Read(chunk, head);
        messages.CheckSequence(sequence);
        var (requestHeader, request) = ReadOpenRequest(body);
        if (request.RequestType != TokenRequestType.Renew)
        {
            throw new UaException(StatusCodes.BadRequestTypeInvalid, $"request type {request.RequestType} on an open channel");
        }

        if (request.SecurityMode != Mode)
        {
            throw new UaException(StatusCodes.BadSecurityModeRejected, $"a renewal with mode {request.SecurityMode} instead of {Mode}");
        }

        return new Renewal(requestId, requestHeader.Handle, IssueToken(request));
    }

    private void CountRenewal()
    {
        var now = time.GetTimestamp();
        var refilled = (int)Math.Min(RenewalsAtOnce, time.GetElapsedTime(lastRefill, now) / (options.MinTokenLifetime / 4));
        if (refilled > 0)
        {
            renewalsLeft = Math.Min(RenewalsAtOnce, renewalsLeft + refilled);
            lastRefill = now;
        }

        if (--renewalsLeft < 0)
        {
            throw new UaException(StatusCodes.BadTcpServerTooBusy, "the token is renewed again and again");
        }
    }

    private readonly record struct Renewal(uint RequestId, uint Handle, ChannelToken Token);
}
