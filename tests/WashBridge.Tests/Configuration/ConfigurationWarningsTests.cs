using Microsoft.Extensions.Logging;
using WashBridge.Configuration;

namespace WashBridge.Tests.Configuration;

public sealed class ConfigurationWarningsTests
{
    [Fact]
    public void Every_warning_is_logged_with_file_line_and_field()
    {
        using var fixture = new ConfigurationFixture("GoodOpcUa");
        fixture.Replace("washers/w4.yaml", "endpoint: opc.tcp://192.0.2.40:48400", "endpoint: opc.tcp://192.0.2.40:48400\n  security-mode: None");
        var log = new Lines();
        ConfigurationWarnings.Log(log, fixture.Load().Site!.Warnings);
        var (level, id, text) = Assert.Single(log.All);
        Assert.Equal((LogLevel.Warning, 2003), (level, id));
        Assert.EndsWith("washers/w4.yaml:6:18: connection.security-mode: nothing protects this connection: whoever reaches the network can read along, and send values in the controller's name; found None", text, StringComparison.Ordinal);
    }

    [Fact]
    public void A_collector_on_the_network_without_encryption_is_a_warning_and_one_on_this_machine_is_none()
    {
        using var fixture = new ConfigurationFixture();
        Assert.Empty(fixture.Load().Site!.Warnings);
        fixture.Replace("site.yaml", "http://127.0.0.1:4318", "http://collector.example:4318");
        var warning = Assert.Single(fixture.Load().Site!.Warnings);
        Assert.EndsWith("telemetry.otlp.endpoint: metrics and traces, with the names of washers, go over the network for all to read; found http://collector.example:4318/; allowed: https://, or a collector on this machine", warning.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void An_approved_setpoint_that_no_tag_map_has_is_a_warning()
    {
        using var fixture = new ConfigurationFixture();
        fixture.Replace("recipes/standard.yaml", "setpoint: sanitise.hold", "setpoint: sanitise.dwell");
        var warning = Assert.Single(fixture.Load().Site!.Warnings);
        Assert.EndsWith("setpoints[0].setpoint: the tag map of washer w1 has no setpoint.sanitise.dwell: nobody watches it there; found \"sanitise.dwell\"", warning.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void A_broker_elsewhere_without_TLS_is_a_warning()
    {
        using var fixture = new ConfigurationFixture();
        fixture.Replace("site.yaml", "mqtts://broker.example:8884", "mqtt://broker.example");
        var warning = Assert.Single(fixture.Load().Site!.Warnings);
        Assert.Contains("mqtt[0].url: nothing protects this connection", warning.ToString(), StringComparison.Ordinal);
    }

    private sealed class Lines : ILogger
    {
        public List<(LogLevel Level, int Id, string Text)> All { get; } = [];

        public IDisposable? BeginScope<TState>(TState state)
            where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) => All.Add((logLevel, eventId.Id, formatter(state, exception)));
    }
}
