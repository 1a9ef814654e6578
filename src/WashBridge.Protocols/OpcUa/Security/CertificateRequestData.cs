using System.Net;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>What an application certificate of our own says (Part 6, 6.2.2).</summary>
public sealed record CertificateRequestData
{
    /// <summary>Distinguished name, for instance "CN=WashBridge,O=Brewery". The common name is required.</summary>
    public required string SubjectName { get; init; }

    /// <summary>A URL or URN, unique to this installation. Peers compare it exactly with the application description.</summary>
    public required string ApplicationUri { get; init; }

    /// <summary>The names this machine is reached by. A server needs at least one name or address.</summary>
    public IReadOnlyList<string> DnsNames { get; init; } = [];

    public IReadOnlyList<IPAddress> IpAddresses { get; init; } = [];

    /// <summary>2048, 3072 or 4096 bits; 2048 by default.</summary>
    public int KeyBits { get; init; } = 2048;

    /// <summary>1 day to 30 years; 5 years by default.</summary>
    public TimeSpan Validity { get; init; } = TimeSpan.FromDays(5 * 365);

    internal void Validate()
    {
        Check(SubjectName.Contains("CN=", StringComparison.OrdinalIgnoreCase) && IsDistinguishedName(SubjectName), nameof(SubjectName), SubjectName, "a distinguished name with a common name, such as CN=WashBridge");
        Check(ApplicationUri.All(char.IsAscii) && Uri.TryCreate(ApplicationUri, UriKind.Absolute, out _), nameof(ApplicationUri), ApplicationUri, "an absolute URI in ASCII, such as urn:host:WashBridge");
        Check(DnsNames.Count + IpAddresses.Count > 0, nameof(DnsNames), "neither name nor address", "at least one DNS name or IP address");
        Check(DnsNames.All(name => name.Length is > 0 and <= 253 && name.All(char.IsAscii)), nameof(DnsNames), string.Join(", ", DnsNames), "ASCII names of 1 to 253 characters");
        Check(KeyBits is 2048 or 3072 or 4096, nameof(KeyBits), KeyBits, "2048, 3072 or 4096");
        Check(Validity >= TimeSpan.FromDays(1) && Validity <= TimeSpan.FromDays(30 * 366), nameof(Validity), Validity, "1 day to 30 years");
    }

    private static bool IsDistinguishedName(string name)
    {
        try
        {
            return new X500DistinguishedName(name).RawData.Length > 0;
        }
        catch (CryptographicException)
        {
            return false;
        }
    }

    private static void Check(bool isAllowed, string name, object found, string allowed)
    {
        if (!isAllowed)
        {
            throw new ArgumentOutOfRangeException(name, found, $"allowed: {allowed}");
        }
    }
}
