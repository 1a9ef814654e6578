namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>What a status says about going on.</summary>
internal static class SessionLoss
{
    /// <summary>The session, or its tie to the channel, is gone.</summary>
    public static bool IsMeantBy(StatusCode status) =>
        status == StatusCodes.BadSessionIdInvalid
        || status == StatusCodes.BadSessionClosed
        || status == StatusCodes.BadSessionNotActivated
        || status == StatusCodes.BadSecureChannelIdInvalid
        || status == StatusCodes.BadSecureChannelClosed
        || status == StatusCodes.BadServerHalted
        || status == StatusCodes.BadShutdown;

    /// <summary>Only a person can change it: certificates, users, policies, configuration.</summary>
    public static bool NeedsPerson(StatusCode status) =>
        status.Value is >= 0x8012_0000 and <= 0x801E_FFFF // certificates and BadSecurityChecksFailed
        || status == StatusCodes.BadUserAccessDenied
        || status == StatusCodes.BadIdentityTokenInvalid
        || status == StatusCodes.BadIdentityTokenRejected
        || status == StatusCodes.BadSecurityModeRejected
        || status == StatusCodes.BadSecurityPolicyRejected
        || status == StatusCodes.BadSecurityModeInsufficient
        || status == StatusCodes.BadApplicationSignatureInvalid
        || status == StatusCodes.BadUserSignatureInvalid
        || status == StatusCodes.BadNoValidCertificates
        || status == StatusCodes.BadServerUriInvalid
        || status == StatusCodes.BadConfigurationError
        || status == StatusCodes.BadCertificateChainIncomplete
        || status == StatusCodes.BadCertificatePolicyCheckFailed;
}
