using Microsoft.Extensions.FileProviders;
using Microsoft.Extensions.FileProviders.Physical;
using Microsoft.Extensions.Primitives;
using WashBridge.Configuration;
using WashBridge.Configuration.Binding;

namespace WashBridge.Logs;

/// <summary>
/// Reads <c>logging.levels</c> of the site file anew when the file changes. Nothing else of it is: all else waits for the next start, and may be wrong until then.
/// Levels that cannot be read leave those that hold.
/// </summary>
internal sealed partial class LogLevelWatch(string siteFile, LogLevels levels, ILogger<LogLevelWatch> logger) : IHostedService, IDisposable
{
    private readonly PhysicalFileProvider _folder = new(Path.GetDirectoryName(Path.GetFullPath(siteFile))!, ExclusionFilters.None);
    private IDisposable? _watching;

    public Task StartAsync(CancellationToken cancellationToken)
    {
        _watching = ChangeToken.OnChange(() => _folder.Watch(Path.GetFileName(siteFile)), Reread);
        return Task.CompletedTask;
    }

    public Task StopAsync(CancellationToken cancellationToken)
    {
        _watching?.Dispose();
        return Task.CompletedTask;
    }

    public void Dispose()
    {
        _watching?.Dispose();
        _folder.Dispose();
    }

    internal void Reread()
    {
        var sources = new SourceFiles(Environment.GetEnvironmentVariable);
        var read = sources.ReadRoot(siteFile) is { } site ? LoggingBinder.Bind(site.OptionalMap("logging")) : null;
        if (read is null || sources.Problems.Count > 0)
        {
            Unreadable(logger, string.Join("; ", sources.Problems.Sorted(sources.Read)));
        }
        else if (levels.Change(read.Levels))
        {
            Changed(logger, read.Levels.Count == 0 ? "the standard ones" : string.Join(", ", read.Levels.Select(l => $"{l.Key}: {l.Value}")));
        }
    }

    [LoggerMessage(EventId = 2501, Level = LogLevel.Warning, Message = "The levels of the log are now {Levels}")]
    private static partial void Changed(ILogger logger, string levels);

    [LoggerMessage(EventId = 2502, Level = LogLevel.Warning, Message = "The levels of the log stay as they are, because the site file cannot be read: {Problems}")]
    private static partial void Unreadable(ILogger logger, string problems);
}
