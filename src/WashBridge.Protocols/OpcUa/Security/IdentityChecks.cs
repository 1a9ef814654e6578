using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>The steps "host name", "URI" and "certificate usage" of Part 4, 6.1.3.</summary>
internal static class IdentityChecks
{
    private const string AnyUsage = "2.5.29.37.0";
    private const string ServerAuthentication = "1.3.6.1.5.5.7.3.1";
    private const string ClientAuthentication = "1.3.6.1.5.5.7.3.2";

    public static void Run(ParsedCertificate leaf, Findings findings)
    {
        var expected = findings.Expectation;
        if (expected.Host is { } host && !leaf.Names.Covers(host))
        {
            findings.Add(
                StatusCodes.BadCertificateHostNameInvalid,
                $"{leaf.Label} is for {Listed([.. leaf.Names.DnsNames, .. leaf.Names.Addresses.Select(address => address.ToString())])}, not for '{host}' that we connect to. Connect by one of its names, have the certificate made for '{host}', or allow 'other host' for this peer.",
                expected.AllowOtherHost);
        }

        if (expected.ApplicationUri is { } uri && !leaf.Names.Uris.Contains(uri, StringComparer.Ordinal))
        {
            findings.Add(
                StatusCodes.BadCertificateUriInvalid,
                $"{leaf.Label} is for the application {Listed(leaf.Names.Uris)}, but the peer calls itself '{uri}'. Have the certificate made for that URI, or allow 'other application URI' for this peer.",
                expected.AllowOtherApplicationUri);
        }
    }

    public static void RunUsage(BuiltChain chain, Findings findings)
    {
        for (var depth = 0; depth < chain.Certificates.Count; depth++)
        {
            var certificate = chain.Certificates[depth];
            if (certificate.UnknownCriticalExtension is { } identifier)
            {
                findings.Add(StatusCodes.BadCertificateInvalid, $"{certificate.Label} has a critical extension {identifier} that is not known here, so that it cannot be told what the certificate is good for.");
            }

            if (depth == 0 && LeafProblem(certificate, findings.Expectation.Purpose) is { } problem)
            {
                findings.Add(StatusCodes.BadCertificateUseNotAllowed, $"{certificate.Label} {problem}. The peer needs another certificate, or allow 'other usage' for it.", findings.Expectation.AllowOtherUsage);
            }
            else if (depth > 0 && IssuerProblem(certificate, authoritiesBelow: depth - 1) is { } issuerProblem)
            {
                // Never let pass: anybody with a certificate could issue others.
                findings.Add(StatusCodes.BadCertificateIssuerUseNotAllowed, $"{certificate.Label} {issuerProblem}. It must not issue certificates.");
            }
        }
    }

    /// <summary>A usage that the certificate does not restrict is not asked for (RFC 5280, 4.2.1.3 and 4.2.1.12).</summary>
    private static string? LeafProblem(ParsedCertificate leaf, CertificatePurpose purpose)
    {
        if (leaf.IsAuthority)
        {
            return "is the certificate of an authority, for issuing others; expected is an end certificate";
        }

        var usage = leaf.KeyUsage;
        if (usage is not null && (usage & X509KeyUsageFlags.DigitalSignature) == 0)
        {
            return $"has the key usage '{usage}'; expected is DigitalSignature among them";
        }

        if (purpose == CertificatePurpose.User)
        {
            return null;
        }

        if (usage is not null && (usage & (X509KeyUsageFlags.KeyEncipherment | X509KeyUsageFlags.DataEncipherment)) == 0)
        {
            return $"has the key usage '{usage}'; expected is KeyEncipherment or DataEncipherment among them";
        }

        var wanted = purpose == CertificatePurpose.Server ? ServerAuthentication : ClientAuthentication;
        return leaf.ExtendedKeyUsage is { } extended && !extended.Contains(wanted) && !extended.Contains(AnyUsage)
            ? $"has the extended key usage {Listed(extended)}; expected is {wanted}, {(purpose == CertificatePurpose.Server ? "server" : "client")} authentication"
            : null;
    }

    private static string? IssuerProblem(ParsedCertificate issuer, int authoritiesBelow)
    {
        if (!issuer.IsAuthority)
        {
            return "issued the one before it, but is not the certificate of an authority";
        }

        if (issuer.KeyUsage is { } usage && (usage & X509KeyUsageFlags.KeyCertSign) == 0)
        {
            return $"issued the one before it, but has the key usage '{usage}' without KeyCertSign";
        }

        return issuer.PathLength < authoritiesBelow ? $"has {authoritiesBelow} authorities below it, but its path length allows {issuer.PathLength}" : null;
    }

    private static string Listed(IReadOnlyList<string> names) => names.Count == 0 ? "none" : string.Join(", ", names.Take(10).Select(name => $"'{name}'"));
}
