using Microsoft.Extensions.Options;
using Microsoft.Extensions.Primitives;
using WashBridge.Configuration;

namespace WashBridge.Logs;

/// <summary>How much is logged, which can change while the service runs.</summary>
internal sealed class LogLevels(IReadOnlyDictionary<string, LogLevel> levels) : IConfigureOptions<LoggerFilterOptions>, IOptionsChangeTokenSource<LoggerFilterOptions>
{
    /// <summary>Of packages that would tell every request: each look of a probe at a washer that is switched off would be a warning.</summary>
    private static readonly Dictionary<string, LogLevel> Standard = new(StringComparer.Ordinal)
    {
        ["Microsoft.AspNetCore"] = LogLevel.Warning,
        ["Microsoft.Extensions.Diagnostics.HealthChecks"] = LogLevel.None,
        ["System.Net.Http"] = LogLevel.Warning,
    };

    private readonly Lock _gate = new();
    private IReadOnlyDictionary<string, LogLevel> _levels = levels;
    private ConfigurationReloadToken _changed = new();

    public string? Name => Options.DefaultName;

    public void Configure(LoggerFilterOptions options)
    {
        IReadOnlyDictionary<string, LogLevel> levels;
        lock (_gate)
        {
            levels = _levels;
        }

        foreach (var (category, level) in Standard.Where(s => !levels.ContainsKey(s.Key)).Concat(levels))
        {
            options.Rules.Add(new LoggerFilterRule(null, category == LoggingConfiguration.DefaultCategory ? null : category, level, null));
        }
    }

    public IChangeToken GetChangeToken()
    {
        lock (_gate)
        {
            return _changed;
        }
    }

    /// <summary>From now on these count.</summary>
    /// <returns>False: they did already.</returns>
    public bool Change(IReadOnlyDictionary<string, LogLevel> levels)
    {
        ConfigurationReloadToken changed;
        lock (_gate)
        {
            if (levels.Count == _levels.Count && levels.All(l => _levels.TryGetValue(l.Key, out var level) && level == l.Value))
            {
                return false;
            }

            _levels = levels;
            changed = _changed;
            _changed = new ConfigurationReloadToken();
        }

        changed.OnReload();
        return true;
    }
}
