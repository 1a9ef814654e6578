using System.Net;
using System.Net.Sockets;
using System.Security.Cryptography;
using WashBridge.Configuration;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Telemetry;
using WashBridge.Web;

namespace WashBridge.Demo;

/// <summary>The pages of the demonstration, on the loopback interface.</summary>
internal static class DemoPages
{
    /// <param name="more">Services besides those of the pages, such as of a trial.</param>
    public static IHost Make(Site site, IHistorian historian, HistorianSignal signal, Bridge bridge, TimeProvider time, Action<IServiceCollection>? more = null) => new HostBuilder()
        .ConfigureServices(services =>
        {
            services.AddSingleton(site);
            services.AddSingleton(historian);
            services.AddSingleton(signal);
            services.AddSingleton(bridge);
            services.AddSingleton(time);
            services.AddLogging();
            TelemetryServices.Add(services, site);
            more?.Invoke(services);
        })
        .AddPages(site)
        .Build();

    /// <summary>
    /// The port that people expect, or where another program has it, one that is free: below those that systems give to connections that go out (RFC 6335, section 6:
    /// from 49152; Linux from 32768), so that none of these takes it before it is listened to.
    /// </summary>
    public static int Choose(int expected)
    {
        for (var port = expected; ; port = RandomNumberGenerator.GetInt32(10_000, 32_768))
        {
            if (port > 0 && IsFree(port))
            {
                return port;
            }
        }
    }

    private static bool IsFree(int port)
    {
        try
        {
            using var listener = new TcpListener(IPAddress.Loopback, port);
            listener.Start();
            return true;
        }
        catch (SocketException)
        {
            return false;
        }
    }
}
