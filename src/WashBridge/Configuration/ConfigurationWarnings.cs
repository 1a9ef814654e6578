namespace WashBridge.Configuration;

/// <summary>Puts what a configuration allows, and somebody should know, into the log at every start.</summary>
internal static partial class ConfigurationWarnings
{
    public static void Log(ILogger logger, IReadOnlyList<Problem> warnings)
    {
        foreach (var warning in warnings)
        {
            Warn(logger, warning);
        }
    }

    [LoggerMessage(EventId = 2003, Level = LogLevel.Warning, Message = "Configuration: {Warning}")]
    private static partial void Warn(ILogger logger, Problem warning);
}
