using Microsoft.Extensions.Logging.Console;
using Microsoft.Extensions.Options;
using WashBridge.Configuration;

namespace WashBridge.Logs;

/// <summary>How the service writes its log.</summary>
internal static class LogServices
{
    /// <param name="siteFile">Where the levels are read anew from when it changes.</param>
    public static void Add(IServiceCollection services, LoggingConfiguration logging, string siteFile)
    {
        if (logging.Format == LogFormat.Json)
        {
            services.Configure<ConsoleLoggerOptions>(o => o.FormatterName = ConsoleFormatterNames.Json);
            services.Configure<JsonConsoleFormatterOptions>(o =>
            {
                o.UseUtcTimestamp = true;
                o.TimestampFormat = "yyyy-MM-ddTHH:mm:ss.ffffffZ";
            });
        }

        services.AddSingleton(new LogLevels(logging.Levels));
        services.AddSingleton<IConfigureOptions<LoggerFilterOptions>>(provider => provider.GetRequiredService<LogLevels>());
        services.AddSingleton<IOptionsChangeTokenSource<LoggerFilterOptions>>(provider => provider.GetRequiredService<LogLevels>());
        services.AddHostedService(provider => new LogLevelWatch(siteFile, provider.GetRequiredService<LogLevels>(), provider.GetRequiredService<ILogger<LogLevelWatch>>()));
    }
}
