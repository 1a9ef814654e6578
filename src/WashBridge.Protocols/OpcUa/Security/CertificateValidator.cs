using System.Security.Cryptography;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>
/// Decides whether a peer's certificate is accepted, by the steps of Part 4, 6.1.3. All steps are gone through, so that everything that is wrong is
/// known at once. The files of the store are looked at each time. Safe to use from several threads.
/// </summary>
public sealed class CertificateValidator(PkiStore store, TimeProvider time)
{
    /// <param name="derChain">As the peer sent it: its certificate, perhaps followed by issuers.</param>
    public CertificateCheck Validate(ReadOnlyMemory<byte> derChain, CertificateExpectation expectation)
    {
        if (Parse(derChain, out var sent) is { } problem)
        {
            return new CertificateCheck([new CertificateFinding(StatusCodes.BadCertificateInvalid, $"the peer's certificate cannot be read: {problem}. The peer needs another one.")], []);
        }

        // An issuer that somebody put into the store is preferred to one that the peer brings along.
        var content = store.Read();
        var chain = ChainBuilder.Build(sent[0], [.. content.Trusted, .. content.Issuers, .. sent.Skip(1)]);
        var findings = new Findings(expectation);
        CheckChain(chain, findings);
        CheckPolicy(chain, findings);
        CheckTrust(chain, content, findings);
        CheckTime(chain, findings);
        IdentityChecks.Run(sent[0], findings);
        IdentityChecks.RunUsage(chain, findings);
        RevocationChecks.Run(chain, content, store, time, findings);
        return findings.ToCheck();
    }

    /// <summary>Step "certificate structure".</summary>
    /// <returns>What is wrong; null if nothing is.</returns>
    private static string? Parse(ReadOnlyMemory<byte> derChain, out List<ParsedCertificate> sent)
    {
        sent = [];
        if (CertificateChain.TrySplit(derChain, out var parts) is { } problem)
        {
            return problem;
        }

        try
        {
            sent.AddRange(parts.Select(part => ParsedCertificate.Parse(part.Span)));
            return null;
        }
        catch (CryptographicException e)
        {
            return e.Message.TrimEnd('.');
        }
    }

    private static bool IsIn(IReadOnlyList<ParsedCertificate> list, ParsedCertificate certificate) =>
        list.Any(known => known.Der.Span.SequenceEqual(certificate.Der.Span));

    /// <summary>Steps "build certificate chain" and "signature".</summary>
    private void CheckChain(BuiltChain chain, Findings findings)
    {
        if (chain.IsComplete)
        {
            return;
        }

        var last = chain.Certificates[^1];
        if (chain.Broken is not null)
        {
            var signer = last.IsSelfIssued ? "its own key" : $"the key of '{last.Certificate.Issuer}' as it is known here";
            findings.Add(
                StatusCodes.BadCertificateInvalid,
                $"{last.Label} has a signature ({last.Signed.Algorithm.Name}) that {signer} did not make: it was changed after it was signed, or is a forgery. Do not trust it; the peer needs another one.");
            return;
        }

        findings.Add(
            StatusCodes.BadCertificateChainIncomplete,
            $"{last.Label} was issued by '{last.Certificate.Issuer}', whose certificate is neither sent by the peer nor in the store. Put it into {store.IssuersFolder}, or into {store.TrustedFolder} to trust all that it issues.");
    }

    private static void CheckPolicy(BuiltChain chain, Findings findings)
    {
        var policy = findings.Expectation.SecurityPolicy;
        if (policy.IsNone)
        {
            return;
        }

        foreach (var certificate in chain.Certificates)
        {
            var isLeaf = certificate == chain.Certificates[0];
            if (certificate.KeyBits is not { } bits)
            {
                findings.Add(StatusCodes.BadCertificatePolicyCheckFailed, $"{certificate.Label} has a key that is not RSA; {policy.Name} asks for RSA. The peer needs another certificate.");
            }
            else if (bits < policy.MinimumKeyBits || (isLeaf && bits > policy.MaximumKeyBits))
            {
                findings.Add(
                    StatusCodes.BadCertificatePolicyCheckFailed,
                    $"{certificate.Label} has a key of {bits} bits; {policy.Name} asks for {policy.MinimumKeyBits} to {policy.MaximumKeyBits}. The peer needs another certificate.");
            }

            if (!certificate.Signed.Algorithm.IsStrong)
            {
                findings.Add(
                    StatusCodes.BadCertificatePolicyCheckFailed,
                    $"{certificate.Label} is signed by {certificate.Signed.Algorithm.Name}; {policy.Name} asks for RSA with SHA-256 or longer. The peer needs another certificate.");
            }
        }
    }

    private void CheckTrust(BuiltChain chain, PkiContent content, Findings findings)
    {
        var leaf = chain.Certificates[0];
        if (IsIn(content.Trusted, leaf) || (chain.IsComplete && chain.Certificates.Any(certificate => IsIn(content.Trusted, certificate))))
        {
            findings.IsTrustedItself = IsIn(content.Trusted, leaf);
            return;
        }

        // A forgery is not offered for trusting.
        var file = chain.Broken is null ? store.SaveRejected(leaf.Der) : null;
        var kept = file is null ? "" : $" It is kept as {file}; if it is the one you expect (compare the whole thumbprint {leaf.Thumbprint} with what the peer itself shows), trust it with: washbridge certificates trust {leaf.Thumbprint[..8]}";
        findings.Add(
            StatusCodes.BadCertificateUntrusted,
            $"{leaf.Label} is not trusted: neither it nor an issuer of it is in {store.TrustedFolder}.{kept}");
    }

    private void CheckTime(BuiltChain chain, Findings findings)
    {
        var now = time.GetUtcNow();
        foreach (var certificate in chain.Certificates)
        {
            if (now >= certificate.NotBefore && now <= certificate.NotAfter)
            {
                continue;
            }

            var status = certificate == chain.Certificates[0] ? StatusCodes.BadCertificateTimeInvalid : StatusCodes.BadCertificateIssuerTimeInvalid;
            var found = now > certificate.NotAfter ? $"ended on {certificate.NotAfter:yyyy-MM-dd HH:mm} UTC" : $"is valid only from {certificate.NotBefore:yyyy-MM-dd HH:mm} UTC";
            findings.Add(
                status,
                $"{certificate.Label} {found}; now it is {now:yyyy-MM-dd HH:mm} UTC. Set the clocks or renew the certificate, or allow 'expired' for this peer.",
                findings.Expectation.AllowExpired);
        }
    }
}
