using OpenTelemetry.Exporter;
using OpenTelemetry.Metrics;
using OpenTelemetry.Resources;
using OpenTelemetry.Trace;
using WashBridge.Configuration;

namespace WashBridge.Telemetry;

/// <summary>Which of all that can be measured leaves the service, and how. The packages are OpenTelemetry's own.</summary>
internal static class TelemetryServices
{
    public const string MetricsPath = "/metrics";

    /// <summary>Meters of .NET, and the few of their instruments that are kept: requests to the pages, and what the process costs.</summary>
    public static IReadOnlyDictionary<string, IReadOnlyList<string>> ReadyMade { get; } = new Dictionary<string, IReadOnlyList<string>>(StringComparer.Ordinal)
    {
        ["Microsoft.AspNetCore.Hosting"] = ["http.server.request.duration", "http.server.active_requests"],
        ["System.Runtime"] = ["dotnet.process.cpu.time", "dotnet.process.memory.working_set", "dotnet.gc.pause.time", "dotnet.gc.last_collection.heap.size"],
    };

    /// <summary>Adds it to a service that has the <see cref="Site"/>, the historian, its signal, the bridge and the time.</summary>
    public static void Add(IServiceCollection services, Site site)
    {
        var telemetry = services.AddOpenTelemetry().ConfigureResource(r => r.AddService("washbridge", serviceNamespace: site.Id, autoGenerateServiceInstanceId: false, serviceInstanceId: Environment.MachineName));
        if (site.Telemetry.Metrics)
        {
            services.AddHostedService<BridgeGauges>();
            services.AddHostedService<LogCounts>();
            telemetry.WithMetrics(metrics => Measure(metrics, site));
        }

        if (site.Telemetry.Otlp is { TraceShare: > 0 } otlp)
        {
            telemetry.WithTracing(traces => traces
                .AddSource(Traces.SourceName)
                .SetSampler(new ParentBasedSampler(new TraceIdRatioBasedSampler(otlp.TraceShare)))
                .AddOtlpExporter(o => Send(o, otlp, "v1/traces")));
        }
    }

    private static void Measure(MeterProviderBuilder metrics, Site site)
    {
        metrics.AddMeter([Measures.MeterName, .. ReadyMade.Keys]);
        metrics.AddView(instrument => ReadyMade.TryGetValue(instrument.Meter.Name, out var kept) && !kept.Contains(instrument.Name) ? MetricStreamConfiguration.Drop : null);
        if (site.Http is not null)
        {
            metrics.AddPrometheusExporter(o => o.ScrapeResponseCacheDurationMilliseconds = 0);
        }

        if (site.Telemetry.Otlp is { } otlp)
        {
            metrics.AddOtlpExporter((exporter, reader) =>
            {
                Send(exporter, otlp, "v1/metrics");
                reader.PeriodicExportingMetricReaderOptions.ExportIntervalMilliseconds = (int)otlp.Every.TotalMilliseconds;
            });
        }
    }

    /// <summary>Over HTTP each kind of data has its own path (OpenTelemetry protocol exporter, "Endpoint URLs for OTLP/HTTP"); the exporter adds it only to what the environment says.</summary>
    private static void Send(OtlpExporterOptions options, OtlpConfiguration otlp, string path)
    {
        var isHttp = otlp.Protocol == OtlpProtocol.Http;
        options.Protocol = isHttp ? OtlpExportProtocol.HttpProtobuf : OtlpExportProtocol.Grpc;
        options.Endpoint = isHttp ? new Uri($"{otlp.Endpoint.AbsoluteUri.TrimEnd('/')}/{path}") : otlp.Endpoint;
    }
}
