using System.Globalization;
using Microsoft.Extensions.Hosting.Systemd;
using Microsoft.Extensions.Logging.Console;
using WashBridge.Historian;

namespace WashBridge.Pipeline;

/// <summary>
/// Tells systemd that the service lives, at half the interval of its unit's <c>WatchdogSec</c>: as long as timers run and the historian answers. Whatever holds
/// either up for longer makes systemd start the service anew; what was committed is kept.
/// </summary>
internal sealed class Watchdog(ISystemdNotifier systemd, IHistorian historian, TimeProvider time) : BackgroundService
{
    private static readonly ServiceState Alive = new("WATCHDOG=1");

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        if (Interval(Environment.GetEnvironmentVariable("WATCHDOG_USEC")) is not { } interval)
        {
            return;
        }

        using var beat = new PeriodicTimer(interval / 2, time);
        do
        {
            // Reads the file itself, where a hung disk shows.
            historian.ReadFollower(nameof(Watchdog));
            systemd.Notify(Alive);
        }
        while (await beat.WaitForNextTickAsync(stoppingToken));
    }

    /// <summary>What systemd expects, in microseconds as sd_watchdog_enabled(3) has it; null: nothing.</summary>
    private static TimeSpan? Interval(string? microseconds) =>
        long.TryParse(microseconds, NumberStyles.None, CultureInfo.InvariantCulture, out var found) && found > 1 ? TimeSpan.FromMicroseconds(found) : null;
}

internal static class Supervisor
{
    /// <summary>
    /// Tells systemd what the service does, where it asks to be told. The host's own UseSystemd looks for a parent process of that name first, which a unit
    /// with ProtectProc hides: then the service would never be ready.
    /// </summary>
    public static IHostBuilder UseSupervisor(this IHostBuilder host) => string.IsNullOrEmpty(Environment.GetEnvironmentVariable("NOTIFY_SOCKET")) || OperatingSystem.IsWindows()
        ? host
        : host.ConfigureServices(services =>
        {
            services.Configure<ConsoleLoggerOptions>(o => o.FormatterName = ConsoleFormatterNames.Systemd);
            services.AddSingleton<ISystemdNotifier, SystemdNotifier>();
            services.AddSingleton<IHostLifetime, SystemdLifetime>();
            services.AddHostedService<Watchdog>();
        });
}
