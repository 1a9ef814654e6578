using System.CommandLine;
using WashBridge.Certificates;
using WashBridge.Configuration;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Logs;
using WashBridge.Messaging;
using WashBridge.Pairing;
using WashBridge.Pipeline;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Publishing;
using WashBridge.Recipes;
using WashBridge.Telemetry;
using WashBridge.Web;
using WashBridge.Web.Accounts;

namespace WashBridge.Commands;

/// <summary>The service: reads the washers of a site until it is told to stop.</summary>
internal static partial class RunCommand
{
    public static Command Create()
    {
        var siteFile = new Argument<FileInfo>("site") { Description = "The site's file.", DefaultValueFactory = _ => new FileInfo("config/site.yaml") };
        var command = new Command("run", """
            Reads the site's washers until stopped: as a systemd unit, a Windows service or in a terminal (Ctrl-C). What was read is committed before it ends.

            Example: washbridge run /etc/washbridge/site.yaml
            """) { siteFile };
        command.SetAction(async (parsed, cancellation) =>
        {
            if (SiteFile.Load(parsed.GetValue(siteFile)!, Console.Error) is not { } site)
            {
                return ExitCodes.ConfigurationErrors;
            }

            try
            {
                using var opcUa = Certificates(site);
                using var historian = Historian.Historian.Open(site.Store.Path, new HistorianOptions(), TimeProvider.System);
                return await RunAsync(site, parsed.GetValue(siteFile)!.FullName, opcUa, historian, cancellation);
            }
            catch (PkiException e)
            {
                await Console.Error.WriteLineAsync(e.Message);
                return ExitCodes.ConfigurationErrors;
            }
            catch (AccountException e)
            {
                await Console.Error.WriteLineAsync(e.Message);
                return ExitCodes.StoreErrors;
            }
        });
        return command;
    }

    /// <summary>Null where nothing speaks OPC UA. Ours is made or read at once, so that trouble with it is told before anything runs.</summary>
    private static OpcUaApplication? Certificates(Site site)
    {
        if (site.OpcUa.Server is null && !site.Washers.Any(w => w.Connection is OpcUaConnection))
        {
            return null;
        }

        var opcUa = new OpcUaApplication(site.OpcUa, TimeProvider.System);
        foreach (var hint in opcUa.Hints)
        {
            Console.Error.WriteLine(hint);
        }

        return opcUa;
    }

    private static async Task<int> RunAsync(Site site, string siteFile, OpcUaApplication? opcUa, Historian.Historian historian, CancellationToken cancellation)
    {
        var host = Host.CreateDefaultBuilder()
            .UseSupervisor()
            .UseWindowsService(o => o.ServiceName = "WashBridge")
            .ConfigureServices(services =>
            {
                LogServices.Add(services, site.Logging, siteFile);
                TelemetryServices.Add(services, site);
                services.AddSingleton(TimeProvider.System);
                services.AddSingleton<IHistorian>(historian);
                services.AddSingleton(site);
                services.AddSingleton<HistorianSignal>();
                services.AddSingleton(new ReadingRole(site.Pair?.Partner));
                foreach (var influx in site.Influx)
                {
                    services.AddSingleton(provider => new InfluxFollower(
                        influx, site.Id, historian, provider.GetRequiredService<HistorianSignal>(), site.Store.Path, TimeProvider.System, provider.GetRequiredService<ILogger<InfluxFollower>>()));
                    services.AddSingleton(provider => new HealthWriter(
                        influx,
                        site.Id,
                        () => BridgeHealth.Of(site, provider.GetRequiredService<Bridge>(), historian, provider.GetServices<InfluxFollower>(), provider.GetServices<MqttFollower>(), provider.GetServices<OpcUaPublisher>(), TimeProvider.System),
                        TimeProvider.System,
                        provider.GetRequiredService<ILogger<HealthWriter>>()));
                }

                foreach (var mqtt in site.Mqtt)
                {
                    services.AddSingleton(provider => new MqttFollower(
                        mqtt, site, historian, provider.GetRequiredService<HistorianSignal>(), TimeProvider.System, provider.GetRequiredService<ILogger<MqttFollower>>()));
                }

                if (site.OpcUa.Server is not null)
                {
                    services.AddSingleton(provider => new OpcUaPublisher(
                        site, opcUa!, historian, provider.GetRequiredService<HistorianSignal>(), TimeProvider.System, provider.GetRequiredService<ILogger<OpcUaPublisher>>()));
                }

                services.AddSingleton(provider => new Bridge(
                    site,
                    historian,
                    provider.GetRequiredService<HistorianSignal>(),
                    [
                        .. provider.GetServices<InfluxFollower>().Select(f => (Func<CancellationToken, Task>)f.RunAsync),
                        .. provider.GetServices<HealthWriter>().Select(w => (Func<CancellationToken, Task>)w.RunAsync),
                        .. provider.GetServices<MqttFollower>().Select(f => (Func<CancellationToken, Task>)f.RunAsync),
                        .. provider.GetServices<OpcUaPublisher>().Select(p => (Func<CancellationToken, Task>)p.RunAsync),
                    ],
                    TimeProvider.System,
                    provider.GetRequiredService<ILoggerFactory>(),
                    ClockKeeper.ReadBootId(),
                    opcUa,
                    provider.GetRequiredService<ReadingRole>()));
                services.AddSingleton<BridgeService>();
                services.AddHostedService(provider => provider.GetRequiredService<BridgeService>());
                services.Configure<HostOptions>(o => o.ShutdownTimeout = TimeSpan.FromSeconds(50));
            });
        if (site.Http is not null)
        {
            host.AddPages(site);
        }

        using var built = host.Build();
        if (historian.Upgrade is { } upgrade)
        {
            StoreUpgraded(built.Services.GetRequiredService<ILogger<BridgeService>>(), upgrade);
        }

        ConfigurationWarnings.Log(built.Services.GetRequiredService<ILogger<BridgeService>>(), site.Warnings);
        FileConflicts.Log(built.Services.GetRequiredService<ILogger<BridgeService>>(), historian, site);
        var service = built.Services.GetRequiredService<BridgeService>();
        await RunAsync(built, cancellation);
        return service.Failed ? ExitCodes.Failure : ExitCodes.Success;
    }

    /// <summary>As the host's own RunAsync, but that being told to stop while it starts is no failure.</summary>
    private static async Task RunAsync(IHost host, CancellationToken cancellation)
    {
        try
        {
            await host.StartAsync(cancellation);
        }
        catch (OperationCanceledException)
        {
            await host.StopAsync(CancellationToken.None);
            return;
        }

        await host.WaitForShutdownAsync(cancellation);
    }

    [LoggerMessage(EventId = 2005, Level = LogLevel.Warning, Message = "{Upgrade}")]
    private static partial void StoreUpgraded(ILogger logger, string upgrade);
}
