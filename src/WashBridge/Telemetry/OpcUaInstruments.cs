using System.Diagnostics.Metrics;

namespace WashBridge.Telemetry;

/// <summary>Subscriptions over OPC UA, by washer.</summary>
internal static class OpcUaInstruments
{
    public static Counter<long> Messages { get; } = Measures.Shared.CreateCounter<long>("washbridge.opcua.messages", "{message}", "Messages of subscriptions, those that say that nothing has changed included.");

    public static Counter<long> Interruptions { get; } = Measures.Shared.CreateCounter<long>("washbridge.opcua.interruptions", "{interruption}", "Times that a subscription was interrupted.");

    public static Counter<long> Losses { get; } = Measures.Shared.CreateCounter<long>("washbridge.opcua.losses", "{loss}", "Times that messages were lost for good, so that all was read anew.");

    public static Gauge<double> ClockOffset { get; } = Measures.Shared.CreateGauge<double>("washbridge.opcua.clock.offset", "s", "The controller's clock less ours, the middle of what is known.");
}
