namespace WashBridge.Configuration;

/// <summary>How the log is written, and how much of it.</summary>
internal sealed record LoggingConfiguration
{
    public LogFormat Format { get; init; } = LogFormat.Text;

    /// <summary>By category, a whole one or its beginning as far as a dot; <see cref="DefaultCategory"/> for all others. The longest that fits counts.</summary>
    public IReadOnlyDictionary<string, LogLevel> Levels { get; init; } = new Dictionary<string, LogLevel>(StringComparer.Ordinal);

    public const string DefaultCategory = "default";
}

internal enum LogFormat
{
    Text = 0,
    Json = 1,
}
