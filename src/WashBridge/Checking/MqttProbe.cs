using WashBridge.Configuration;
using WashBridge.Messaging;

namespace WashBridge.Checking;

/// <param name="Broker">Which.</param>
/// <param name="Failure">Null: it lets us in.</param>
internal sealed record MqttCheck(MqttConfiguration Broker, string? Failure);

/// <summary>Connects to a broker as the service would, but under another client id and with nothing to say, so that a service that runs is not disturbed.</summary>
internal static class MqttProbe
{
    public static async Task<MqttCheck> ProbeAsync(MqttConfiguration broker, CancellationToken cancellation)
    {
        await using var link = new MqttLink(broker, $"washbridge-check-{Environment.ProcessId}");
        try
        {
            await link.ConnectAsync(will: null, (_, _) => { }, _ => { }, cancellation);
            await link.SubscribeAsync([$"spBv1.0/{broker.Group}/NCMD/{broker.EdgeNode}"], cancellation);
            await link.DisconnectAsync(cancellation);
            return new MqttCheck(broker, null);
        }
        catch (MqttLinkException e)
        {
            return new MqttCheck(broker, e.Message);
        }
    }
}
