using System.Net;
using WashBridge.Configuration;
using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Certificates;

/// <summary>Who this installation is to OPC UA peers: its certificates, its key and whom it trusts.</summary>
internal sealed class OpcUaApplication : IDisposable
{
    private readonly CertificateRequestData _request;
    private readonly TimeProvider _time;
    private readonly Lazy<ApplicationCertificate> _certificate;

    /// <exception cref="PkiException">The folder of certificates cannot be made.</exception>
    public OpcUaApplication(OpcUaConfiguration configuration, TimeProvider time)
    {
        (Configuration, _time) = (configuration, time);
        Store = PkiStore.Open(configuration.Pki, time);
        Validator = new CertificateValidator(Store, time);
        _request = Request(configuration);
        _certificate = new Lazy<ApplicationCertificate>(() => Store.LoadOrCreateOwn(_request, time));
    }

    public OpcUaConfiguration Configuration { get; }

    public PkiStore Store { get; }

    public CertificateValidator Validator { get; }

    /// <summary>Ours; made when it is first needed.</summary>
    /// <exception cref="PkiException">It can be neither made nor read, or its key is open to others.</exception>
    public ApplicationCertificate Certificate => _certificate.Value;

    /// <summary>What somebody should know about our certificate.</summary>
    public IReadOnlyList<string> Hints => Certificate.Hints(_request, _time);

    public void Dispose()
    {
        if (_certificate.IsValueCreated)
        {
            _certificate.Value.Dispose();
        }
    }

    private static CertificateRequestData Request(OpcUaConfiguration configuration)
    {
        var hosts = configuration.HostNames.Count > 0 ? configuration.HostNames : [Dns.GetHostName(), "localhost"];
        return new CertificateRequestData
        {
            SubjectName = $"CN={Quote(configuration.ApplicationName)}",
            ApplicationUri = configuration.ApplicationUri,
            DnsNames = [.. hosts.Where(h => !IPAddress.TryParse(h, out _))],
            IpAddresses = [.. hosts.Select(h => IPAddress.TryParse(h, out var address) ? address : null).OfType<IPAddress>(), .. configuration.HostNames.Count > 0 ? [] : new[] { IPAddress.Loopback }],
        };
    }

    /// <summary>In quotes, so that commas and the like do not part the name.</summary>
    private static string Quote(string name) => $"\"{name.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";
}
