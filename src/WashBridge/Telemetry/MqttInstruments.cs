using System.Diagnostics.Metrics;
using WashBridge.Messaging;

namespace WashBridge.Telemetry;

/// <summary>What goes to MQTT brokers. Whether a follower is online, and what it holds, are gauges of the service: <see cref="BridgeGauges"/>.</summary>
internal static class MqttInstruments
{
    private static readonly Counter<long> Messages = Measures.Shared.CreateCounter<long>("washbridge.mqtt.messages", "{message}", "Messages handed to the broker, by their Sparkplug type, or STATE for the plain ones. What is sent again counts again.");

    private static readonly Counter<long> Failures = Measures.Shared.CreateCounter<long>("washbridge.mqtt.failures", "{failure}", "Times that a session could not be had, or was lost, by why. Refused and Unauthorised need somebody to act.");

    public static void Published(string follower, string kind) => Messages.Add(1, new KeyValuePair<string, object?>(Measures.Follower, follower), new KeyValuePair<string, object?>("kind", kind));

    public static void Failed(string follower, MqttFailure reason) => Failures.Add(1, new KeyValuePair<string, object?>(Measures.Follower, follower), new KeyValuePair<string, object?>("reason", reason.ToString()));
}
