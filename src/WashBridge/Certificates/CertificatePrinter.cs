using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using Spectre.Console;
using WashBridge.Checking;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Certificates;

/// <summary>Tells of certificates in plain words.</summary>
internal sealed class CertificatePrinter(TextWriter output, IAnsiConsole? terminal)
{
    /// <summary>Digits of a thumbprint in a command to copy.</summary>
    private const int PrefixDigits = 8;

    public void PrintList(OpcUaApplication application, string site)
    {
        var own = application.Certificate;
        var all = application.Store.List();
        var table = new TextTable("is", "subject", "application URI", "valid (UTC)", "thumbprint") { Unbroken = ["is", "thumbprint"] };
        foreach (var certificate in all.OrderBy(c => c.State))
        {
            table.Add(Word(certificate.State), certificate.Subject.Length > 0 ? certificate.Subject : Path.GetFileName(certificate.File), Or(certificate.ApplicationUri), Validity(certificate), Or(certificate.Thumbprint));
        }

        table.Write(output, terminal);
        output.WriteLine();
        var problems = all.SelectMany(c => c.Problems.Select(p => $"{Word(c.State)} {Name(c)}: {p}")).Concat(application.Hints.Where(h => all.All(c => !c.Problems.Contains(h))).Select(h => $"own: {h}")).Distinct().ToList();
        foreach (var problem in problems)
        {
            output.WriteLine($"problem: {problem}");
        }

        output.WriteLine($"Folder: {application.Store.Root}");
        output.WriteLine($"Our own certificate {Prefix(own.Certificate.Thumbprint)} is what controllers must trust: give {OwnFile(all)} to whoever looks after them, without the private key.");
        if (all.FirstOrDefault(c => c is { State: StoredState.Rejected, Thumbprint.Length: > 0 }) is { } rejected)
        {
            output.WriteLine("Rejected means: a peer showed it, and nobody has said that it is the right one. Compare its whole thumbprint with what the device itself shows, then:");
            output.WriteLine($"  washbridge certificates trust {site} {Prefix(rejected.Thumbprint)}");
        }
    }

    public void PrintOne(StoredCertificate certificate)
    {
        output.WriteLine($"{Word(certificate.State)}: {Name(certificate)}");
        if (certificate.Thumbprint.Length > 0)
        {
            using var content = X509CertificateLoader.LoadCertificateFromFile(certificate.File);
            Line("issuer", content.Subject == content.Issuer ? "itself" : content.Issuer);
            Line("application URI", Or(certificate.ApplicationUri));
            Line("host names", Or(Hosts(content)));
            Line("valid (UTC)", Validity(certificate));
            Line("key", content.GetRSAPublicKey() is { } key ? $"RSA, {key.KeySize} bits" : content.PublicKey.Oid.FriendlyName ?? "unknown");
            Line("signed by", content.SignatureAlgorithm.FriendlyName ?? content.SignatureAlgorithm.Value ?? "unknown");
            Line("serial number", content.SerialNumber);
            Line("thumbprint SHA-1", certificate.Thumbprint);
            Line("SHA-256", content.GetCertHashString(HashAlgorithmName.SHA256));
        }

        Line("file", certificate.File);
        foreach (var problem in certificate.Problems)
        {
            Line("problem", problem);
        }

        void Line(string name, string value) => output.WriteLine($"  {name,-16}  {value}");
    }

    /// <param name="serves">Whether we have a server, too: clients are let in by the same list.</param>
    public void PrintTrusted(StoredCertificate certificate, bool wasTrusted, string site, bool serves)
    {
        output.WriteLine(wasTrusted ? $"{Name(certificate)} is trusted already; nothing has changed." : $"Trusted: {Name(certificate)}");
        output.WriteLine($"  thumbprint       {certificate.Thumbprint}");
        output.WriteLine($"  application URI  {Or(certificate.ApplicationUri)}");
        output.WriteLine($"  file             {certificate.File}");
        output.WriteLine(serves
            ? "Connections to a device that shows this certificate are made from now on, and a client that shows it may connect to our server; who reads there is still decided by its user."
            : "Connections to a device that shows this certificate are made from now on. Whoever has its private key can take that device's place.");
        output.WriteLine($"If that was not meant: washbridge certificates reject {site} {Prefix(certificate.Thumbprint)}");
        PrintStill(certificate);
    }

    public void PrintRejected(StoredCertificate certificate, string site)
    {
        output.WriteLine($"Rejected: {Name(certificate)}");
        output.WriteLine($"  thumbprint       {certificate.Thumbprint}");
        output.WriteLine($"  file             {certificate.File}");
        output.WriteLine("New connections with this certificate are refused from now on; one that is open stays until it breaks: restart the service to end it now.");
        output.WriteLine($"If that was not meant: washbridge certificates trust {site} {Prefix(certificate.Thumbprint)}");
    }

    private void PrintStill(StoredCertificate certificate)
    {
        foreach (var problem in certificate.Problems)
        {
            output.WriteLine($"It is still refused, because it {problem}. The device needs another certificate, or the clocks must be set.");
        }
    }

    private static string OwnFile(IReadOnlyList<StoredCertificate> all) => all.First(c => c.State == StoredState.Own).File;

    private static string Hosts(X509Certificate2 certificate)
    {
        var names = certificate.Extensions.OfType<X509SubjectAlternativeNameExtension>().FirstOrDefault();
        return names is null ? "" : string.Join(", ", names.EnumerateDnsNames().Concat(names.EnumerateIPAddresses().Select(a => a.ToString())));
    }

    private static string Name(StoredCertificate certificate) => certificate.Subject.Length > 0 ? certificate.Subject : certificate.File;

    private static string Prefix(string thumbprint) => thumbprint[..PrefixDigits];

    private static string Or(string text) => text.Length > 0 ? text : "-";

    private static string Validity(StoredCertificate certificate) => certificate is { NotBefore: { } from, NotAfter: { } to } ? $"{from:yyyy-MM-dd} to {to:yyyy-MM-dd}" : "-";

    private static string Word(StoredState state) => state.ToString().ToLowerInvariant();
}
