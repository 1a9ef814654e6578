using System.Net;
using WashBridge.Certificates;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Demo;

/// <summary>
/// Plays the person who makes bridge and controller known to each other: each gets the other's certificate into its trusted folder. For a real
/// controller this is done knowingly, with the certificates command and at the controller.
/// </summary>
internal static class DemoTrust
{
    /// <summary>The simulated controller as a server that the bridge trusts and that trusts the bridge.</summary>
    /// <param name="folder">For the controller's own certificates.</param>
    public static UaServerOptions Introduce(OpcUaApplication bridge, string folder, TimeProvider time)
    {
        var store = PkiStore.Open(folder, time);
        var certificate = store.LoadOrCreateOwn(
            new CertificateRequestData
            {
                SubjectName = "CN=Simulated keg washer",
                ApplicationUri = "urn:example:keg-washer:controller",
                DnsNames = ["localhost"],
                IpAddresses = [IPAddress.Loopback],
            },
            time);
        Trust(bridge.Store, certificate);
        Trust(store, bridge.Certificate);
        return new UaServerOptions
        {
            ApplicationName = "Simulated keg washer",
            Certificate = certificate,
            Validator = new CertificateValidator(store, time),
            AllowAnonymous = true,
        };
    }

    private static void Trust(PkiStore store, ApplicationCertificate certificate)
    {
        var thumbprint = Convert.ToHexString(certificate.Thumbprint);
        if (store.List().All(known => known.State != StoredState.Trusted || known.Thumbprint != thumbprint))
        {
            store.SaveRejected(certificate.Der);
            store.Trust(thumbprint);
        }
    }
}
