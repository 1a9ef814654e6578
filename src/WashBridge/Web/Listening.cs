using System.Net;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using WashBridge.Configuration;

namespace WashBridge.Web;

/// <summary>Where the server listens, and how much it takes from one connection. Whoever is slow or sends without end is cut.</summary>
internal static class Listening
{
    private static readonly string[] Loopback = ["localhost", "127.0.0.1", "[::1]"];

    /// <summary>Of any request: a recipe with remarks fits many times.</summary>
    public const int LongestBody = 256 * 1024;

    /// <summary>Of what programs tell.</summary>
    public const int LongestOrder = 16 * 1024;

    private const int MostConnections = 1000;
    private const int LongestHeaders = 16 * 1024;
    private const int MostHeaders = 64;
    private const int LongestLine = 8 * 1024;
    private const int MostStreams = 100;
    private static readonly TimeSpan HeaderPatience = TimeSpan.FromSeconds(10);
    private static readonly TimeSpan Grace = TimeSpan.FromSeconds(5);

    /// <summary>Bytes a second; who sends less for longer than the grace is cut.</summary>
    private const double SlowestBody = 240;

    public static void Apply(KestrelServerOptions server, HttpConfiguration http)
    {
        server.AddServerHeader = false;
        var limits = server.Limits;
        limits.MaxConcurrentConnections = MostConnections;
        limits.MaxRequestBodySize = LongestBody;
        limits.MaxRequestHeadersTotalSize = LongestHeaders;
        limits.MaxRequestHeaderCount = MostHeaders;
        limits.MaxRequestLineSize = LongestLine;
        limits.RequestHeadersTimeout = HeaderPatience;
        limits.MinRequestBodyDataRate = new MinDataRate(SlowestBody, Grace);
        limits.MinResponseDataRate = new MinDataRate(SlowestBody, Grace);
        limits.Http2.MaxStreamsPerConnection = MostStreams;
        limits.Http2.MaxRequestHeaderFieldSize = LongestLine;
        limits.Http2.KeepAlivePingDelay = TimeSpan.FromSeconds(30);
        limits.Http2.KeepAlivePingTimeout = TimeSpan.FromSeconds(20);
        if (http.Listen.Equals(IPAddress.Loopback))
        {
            server.ListenLocalhost(http.Port, listen => Protect(listen, http));
        }
        else
        {
            server.Listen(http.Listen, http.Port, listen => Protect(listen, http));
        }
    }

    /// <summary>Names that a request may give for this server, without port.</summary>
    public static IReadOnlyList<string> HostNames(HttpConfiguration http) => [.. Loopback.Concat(http.HostNames.Select(Bracketed)).Distinct(StringComparer.OrdinalIgnoreCase)];

    private static string Bracketed(string name) => name.Contains(':', StringComparison.Ordinal) ? $"[{name}]" : name;

    private static void Protect(ListenOptions listen, HttpConfiguration http)
    {
        listen.Protocols = http.IsSecure ? HttpProtocols.Http1AndHttp2 : HttpProtocols.Http1;
        if (http.IsSecure)
        {
            listen.UseHttps(o =>
            {
                o.ServerCertificate = http.Certificates[0];
                o.ServerCertificateChain = [.. http.Certificates.Skip(1)];
                o.HandshakeTimeout = HeaderPatience;
            });
        }
    }
}
