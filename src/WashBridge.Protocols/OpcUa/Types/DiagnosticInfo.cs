namespace WashBridge.Protocols.OpcUa;

/// <summary>Details beside a status code; the numbers are indexes into the header's string table (OPC 10000-4, 7.12).</summary>
public sealed record DiagnosticInfo
{
    public int? SymbolicId { get; init; }

    public int? NamespaceUri { get; init; }

    public int? Locale { get; init; }

    public int? LocalizedText { get; init; }

    public string? AdditionalInfo { get; init; }

    public StatusCode? InnerStatusCode { get; init; }

    public DiagnosticInfo? Inner { get; init; }
}
