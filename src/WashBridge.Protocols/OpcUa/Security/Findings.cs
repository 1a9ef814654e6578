namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>What a validation has found so far.</summary>
internal sealed class Findings(CertificateExpectation expectation)
{
    private readonly List<CertificateFinding> refused = [];
    private readonly List<CertificateFinding> allowed = [];

    public CertificateExpectation Expectation => expectation;

    /// <summary>The end certificate is in the trusted list by itself rather than through an issuer.</summary>
    public bool IsTrustedItself { get; set; }

    public void Add(StatusCode status, string message, bool isAllowed = false) =>
        (isAllowed ? allowed : refused).Add(new CertificateFinding(status, message));

    public CertificateCheck ToCheck() => new(refused, allowed);
}
