namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>What a client may be told about why it is sent away.</summary>
internal static class PeerErrors
{
    /// <summary>What is wrong with a certificate by itself may be told (OPC 10000-4, 5.6.2.3); nothing that shows whom this server trusts.</summary>
    private static readonly HashSet<StatusCode> Spoken =
    [
        StatusCodes.BadCertificateTimeInvalid,
        StatusCodes.BadCertificateUriInvalid,
        StatusCodes.BadCertificateUseNotAllowed,
        StatusCodes.BadCertificatePolicyCheckFailed,
        StatusCodes.BadCertificateInvalid,
        StatusCodes.BadNonceInvalid,
        StatusCodes.BadSecurityPolicyRejected,
        StatusCodes.BadSecurityModeRejected,
        StatusCodes.BadRequestTypeInvalid,
        StatusCodes.BadSequenceNumberInvalid,
        StatusCodes.BadSecureChannelTokenUnknown,
        StatusCodes.BadTcpSecureChannelUnknown,
        StatusCodes.BadTcpMessageTypeInvalid,
        StatusCodes.BadTcpMessageTooLarge,
        StatusCodes.BadTcpEndpointUrlInvalid,
        StatusCodes.BadTcpServerTooBusy,
        StatusCodes.BadTcpNotEnoughResources,
        StatusCodes.BadConnectionRejected,
        StatusCodes.BadDecodingError,
        StatusCodes.BadEncodingLimitsExceeded,
        StatusCodes.BadShutdown,
        StatusCodes.BadServerHalted,
        StatusCodes.BadConnectionClosed,
        StatusCodes.BadTimeout,
        StatusCodes.BadMaxConnectionsReached,
    ];

    /// <summary>The code says what there is to say; a reason would only help somebody who tries things out (OPC 10000-6, 6.7.3).</summary>
    public static TransportError Of(UaException reason) =>
        new(Spoken.Contains(reason.Status.Code) ? reason.Status.Code : StatusCodes.BadSecurityChecksFailed, null);
}
