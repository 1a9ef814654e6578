namespace WashBridge.Configuration;

/// <summary>What the service measures of itself, and who gets it.</summary>
internal sealed record TelemetryConfiguration
{
    /// <summary>False: nothing is measured, and there is no address for it.</summary>
    public bool Metrics { get; init; } = true;

    /// <summary>Null: nothing is sent.</summary>
    public OtlpConfiguration? Otlp { get; init; }
}

/// <summary>A collector that takes the OpenTelemetry protocol.</summary>
internal sealed record OtlpConfiguration(Uri Endpoint)
{
    public OtlpProtocol Protocol { get; init; } = OtlpProtocol.Grpc;

    /// <summary>How often metrics are sent, 1 s to 1 h.</summary>
    public TimeSpan Every { get; init; } = TimeSpan.FromMinutes(1);

    /// <summary>Which share of polls is traced, 0 to 1.</summary>
    public double TraceShare { get; init; } = 0.01;
}

internal enum OtlpProtocol
{
    Grpc = 0,
    Http = 1,
}
