using WashBridge.Browsing;
using WashBridge.Configuration;
using WashBridge.Polling;
using WashBridge.Protocols.OpcUa.Client;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Checking;

/// <summary>A washer read by OPC UA: as far as the check came.</summary>
internal sealed record OpcUaCheck(WasherConfiguration Washer, string? Failure) : WasherCheck(Washer, Failure)
{
    /// <summary>As discovery told; empty if the server could not be asked.</summary>
    public IReadOnlyList<EndpointDescription> Offered { get; init; } = [];

    /// <summary>The server's certificate; null if it shows none.</summary>
    public ServerCertificate? Certificate { get; init; }

    /// <summary>What to do if the server does not know us.</summary>
    public string? OwnCertificateHint { get; init; }

    public SessionFacts? Session { get; init; }

    /// <summary>In the order of the map.</summary>
    public IReadOnlyList<NodeCheck> Tags { get; init; } = [];

    public override IEnumerable<TagReading> Readings => Tags.Select(t => t.Reading);
}

/// <param name="Thumbprint">SHA-1, 40 capital hexadecimal digits.</param>
/// <param name="Description">Subject and validity.</param>
/// <param name="Check">Whether it is accepted for this server.</param>
internal sealed record ServerCertificate(string Thumbprint, string Description, CertificateCheck Check);

/// <summary>What a session told.</summary>
internal sealed record SessionFacts(EndpointDescription Endpoint, OperationLimits Limits, ClockOffset? Clock, ServerStatus? Status, TimeSpan Timeout);

/// <summary>One tag as it was read.</summary>
/// <param name="Tag">The tag.</param>
/// <param name="Variable">What the server tells of it; null if there is no such node.</param>
/// <param name="Reading">What it means.</param>
/// <param name="Age">How long ago it changed, by the server's own clock; null if it does not tell.</param>
/// <param name="Notes">What works and should be known all the same.</param>
internal sealed record NodeCheck(Tag Tag, Variable? Variable, TagReading Reading, TimeSpan? Age, IReadOnlyList<string> Notes)
{
    public OpcUaSource Source => (OpcUaSource)Tag.Source;
}
