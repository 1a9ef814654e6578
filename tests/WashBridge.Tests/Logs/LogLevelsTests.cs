using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Options;
using WashBridge.Logs;
using WashBridge.Tests.Configuration;

namespace WashBridge.Tests.Logs;

/// <summary>Levels of the log that change while loggers are in use. That a change of the file is noticed is tested with the service itself.</summary>
public sealed class LogLevelsTests : IDisposable
{
    private const string Levels = "levels: {default: warning, WashBridge.Polling: debug}";

    private readonly ConfigurationFixture _fixture = new();
    private readonly ServiceProvider _services;
    private readonly LogLevelWatch _watch;
    private readonly ILogger _polling;
    private readonly ILogger _other;
    private readonly ILogger _framework;

    public LogLevelsTests()
    {
        var levels = new LogLevels(_fixture.Load().Site!.Logging.Levels);
        _services = new ServiceCollection()
            .AddLogging(l => l.AddProvider(new Everything()))
            .AddSingleton<IConfigureOptions<LoggerFilterOptions>>(levels)
            .AddSingleton<IOptionsChangeTokenSource<LoggerFilterOptions>>(levels)
            .BuildServiceProvider();
        var loggers = _services.GetRequiredService<ILoggerFactory>();
        (_polling, _other, _framework) = (loggers.CreateLogger("WashBridge.Polling.ModbusPoller"), loggers.CreateLogger("WashBridge.Pipeline.Bridge"), loggers.CreateLogger("Microsoft.AspNetCore.Hosting.Diagnostics"));
        _watch = new LogLevelWatch(Path.Combine(_fixture.Folder, "site.yaml"), levels, NullLogger<LogLevelWatch>.Instance);
    }

    public void Dispose()
    {
        _watch.Dispose();
        _services.Dispose();
        _fixture.Dispose();
    }

    [Fact]
    public void The_longest_category_that_fits_counts()
    {
        Assert.Equal((LogLevel.Debug, LogLevel.Warning), (Least(_polling), Least(_other)));
    }

    [Fact]
    public void Levels_of_the_changed_file_count_at_once_although_another_key_is_wrong()
    {
        _fixture.Replace("site.yaml", Levels, "levels: {WashBridge.Pipeline: trace}");
        _fixture.Replace("site.yaml", "port: 8480", "port: none");
        _watch.Reread();
        Assert.Equal((LogLevel.Information, LogLevel.Trace), (Least(_polling), Least(_other)));
    }

    [Theory]
    [InlineData("levels: {default: loud}")]
    [InlineData("levels: [")]
    public void Levels_that_cannot_be_read_leave_those_that_hold(string wrong)
    {
        _fixture.Replace("site.yaml", Levels, wrong);
        _watch.Reread();
        Assert.Equal((LogLevel.Debug, LogLevel.Warning), (Least(_polling), Least(_other)));
    }

    [Fact]
    public void Requests_to_the_pages_are_told_only_where_the_site_asks_for_it()
    {
        _fixture.Replace("site.yaml", Levels, "levels: {default: information}");
        _watch.Reread();
        Assert.Equal(LogLevel.Warning, Least(_framework));
        _fixture.Replace("site.yaml", "levels: {default: information}", "levels: {Microsoft.AspNetCore: information}");
        _watch.Reread();
        Assert.Equal(LogLevel.Information, Least(_framework));
    }

    private static LogLevel Least(ILogger logger) => Enum.GetValues<LogLevel>().First(l => l == LogLevel.None || logger.IsEnabled(l));

    /// <summary>Would write all.</summary>
    private sealed class Everything : ILoggerProvider, ILogger
    {
        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
        {
        }

        public void Dispose()
        {
        }
    }
}
