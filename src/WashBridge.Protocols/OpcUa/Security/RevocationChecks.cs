namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>The steps "find revocation list" and "revocation check" of Part 4, 6.1.3. Lists come from the store, never over the network.</summary>
internal static class RevocationChecks
{
    public static void Run(BuiltChain chain, PkiContent content, PkiStore store, TimeProvider time, Findings findings)
    {
        for (var depth = 0; depth + 1 < chain.Certificates.Count; depth++)
        {
            var (certificate, issuer) = (chain.Certificates[depth], chain.Certificates[depth + 1]);
            var lists = content.Lists.Where(list => list.IsOf(issuer)).ToList();
            if (lists.Any(list => list.Revokes(certificate)))
            {
                findings.Add(
                    depth == 0 ? StatusCodes.BadCertificateRevoked : StatusCodes.BadCertificateIssuerRevoked,
                    $"{certificate.Label} was revoked by its issuer {issuer.Label}. Do not trust it; the peer needs another one.");
            }
            else if (Unknown(lists, time.GetUtcNow()) is { } found)
            {
                // Who trusts a certificate by itself does not rely on what its issuer says of it.
                var isAllowed = findings.Expectation.AllowUnknownRevocation || findings.IsTrustedItself;
                findings.Add(
                    depth == 0 ? StatusCodes.BadCertificateRevocationUnknown : StatusCodes.BadCertificateIssuerRevocationUnknown,
                    $"whether {certificate.Label} was revoked is not known: {found} of {issuer.Label}. Put a current one into {Path.Combine(store.Root, "trusted", "crl")} or {Path.Combine(store.Root, "issuers", "crl")}, trust the peer's certificate by itself, or allow 'unknown revocation' for this peer.",
                    isAllowed);
            }
        }
    }

    /// <summary>Why the lists do not tell that a certificate that is not on them is still good; null if they do.</summary>
    private static string? Unknown(List<RevocationList> lists, DateTimeOffset now)
    {
        if (lists.Count == 0)
        {
            return "there is no revocation list";
        }

        var whole = lists.Where(list => list.UnknownCriticalExtension is null).ToList();
        if (whole.Count == 0)
        {
            return $"there is no complete revocation list (one has the critical extension {lists[0].UnknownCriticalExtension})";
        }

        var newest = whole.MaxBy(list => list.ThisUpdate)!;
        return newest.NextUpdate is { } next && now > next ? $"since {next:yyyy-MM-dd} there should be a newer revocation list" : null;
    }
}
