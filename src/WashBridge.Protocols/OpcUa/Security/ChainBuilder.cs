namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>How far a certificate could be followed to a root.</summary>
/// <param name="Certificates">The end certificate, then its issuers as far as they were found.</param>
/// <param name="IsComplete">The last one is self-signed.</param>
/// <param name="Broken">Index of the certificate whose issuer was found by name, but did not sign it; null if there is none.</param>
internal sealed record BuiltChain(IReadOnlyList<ParsedCertificate> Certificates, bool IsComplete, int? Broken);

/// <summary>Finds the issuers of a certificate (Part 6, 6.2.6), by name and by verifying each signature.</summary>
internal static class ChainBuilder
{
    /// <param name="candidates">The preferred ones first.</param>
    public static BuiltChain Build(ParsedCertificate leaf, IReadOnlyList<ParsedCertificate> candidates)
    {
        List<ParsedCertificate> chain = [leaf];
        while (chain.Count <= CertificateChain.MaxCertificates)
        {
            var last = chain[^1];
            if (last.IsSelfIssued && last.Signed.IsSignedBy(last.Certificate))
            {
                return new BuiltChain(chain, IsComplete: true, null);
            }

            var named = candidates
                .Where(candidate => candidate.Certificate.SubjectName.RawData.AsSpan().SequenceEqual(last.Certificate.IssuerName.RawData))
                .Where(candidate => chain.All(used => used.Thumbprint != candidate.Thumbprint))
                .ToList();
            var issuer = named.FirstOrDefault(candidate => last.Signed.IsSignedBy(candidate.Certificate));
            if (issuer is null)
            {
                return new BuiltChain(chain, IsComplete: false, last.IsSelfIssued || named.Count > 0 ? chain.Count - 1 : null);
            }

            chain.Add(issuer);
        }

        return new BuiltChain(chain, IsComplete: false, null);
    }
}
