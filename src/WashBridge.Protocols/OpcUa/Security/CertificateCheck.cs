namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>One thing that is wrong with a certificate.</summary>
/// <param name="Status">The status code of that step (Part 4, 6.1.3).</param>
/// <param name="Message">What was found, what is expected, and how to trust it knowingly.</param>
public sealed record CertificateFinding(StatusCode Status, string Message)
{
    public override string ToString() => $"{Status}: {Message}";
}

/// <summary>The outcome of a validation, in the order of the steps in Part 4, 6.1.3.</summary>
/// <param name="Findings">Why the certificate is refused; empty if it is accepted.</param>
/// <param name="Allowed">What would have been a finding but is let pass knowingly: to be logged.</param>
public sealed record CertificateCheck(IReadOnlyList<CertificateFinding> Findings, IReadOnlyList<CertificateFinding> Allowed)
{
    public bool IsAccepted => Findings.Count == 0;

    /// <summary>Of the first finding; Good if there is none. For us and the log, not for the peer.</summary>
    public StatusCode Status => IsAccepted ? StatusCodes.Good : Findings[0].Status;

    /// <summary>What a server tells a client: that it is refused, not why, since that would help somebody who is trying (Part 4, 6.1.3).</summary>
    public StatusCode StatusForPeer => IsAccepted ? StatusCodes.Good : StatusCodes.BadSecurityChecksFailed;

    /// <exception cref="UaException">The certificate is refused; status of the first finding, words of all.</exception>
    public void ThrowIfRefused()
    {
        if (!IsAccepted)
        {
            throw new UaException(Status, string.Join(" ", Findings.Select((finding, index) => index == 0 ? finding.Message : finding.ToString())));
        }
    }
}
