using System.Net;
using System.Net.Sockets;
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

    /// <summary>The port that people expect, or where another program has it, any that is free.</summary>
    public static int Choose(int expected)
    {
        try
        {
            return Free(expected);
        }
        catch (SocketException)
        {
            return Free(0);
        }
    }

    private static int Free(int port)
    {
        using var listener = new TcpListener(IPAddress.Loopback, port);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
