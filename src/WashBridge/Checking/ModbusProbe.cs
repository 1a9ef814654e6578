using WashBridge.Configuration;
using WashBridge.Polling;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Checking;

/// <summary>Connects to a washer by Modbus TCP, reads every tag once and asks the controller who it is.</summary>
internal static class ModbusProbe
{
    public static async Task<ModbusCheck> ProbeAsync(WasherConfiguration washer, TimeProvider time, CancellationToken cancellation)
    {
        var connection = (ModbusConnection)washer.Connection;
        try
        {
            await using var client = await ModbusClient.ConnectAsync(ModbusSettings.ClientOptions(connection), logger: null, time, cancellation);
            var scanner = new ModbusScanner(connection.Unit, [.. washer.Tags.Select(t => ((ModbusSource)t.Source).Point)], ModbusSettings.ReadPlan(connection));
            var result = scanner.CreateResult();
            await scanner.ScanAsync(client, result, cancellation);

            // Asked last: a device that takes offence at a function it does not know has nothing left to spoil.
            var identification = await IdentifyAsync(client, connection.Unit, cancellation);
            return new ModbusCheck(washer, Failure: null, identification, result.RequestCount, Describe(washer.Tags, result, time));
        }
        catch (ModbusException e)
        {
            return new ModbusCheck(washer, e.Message, Identification: "", Requests: 0, Tags: []);
        }
    }

    private static async Task<string> IdentifyAsync(ModbusClient client, byte unit, CancellationToken cancellation)
    {
        try
        {
            var identification = await client.ReadDeviceIdentificationAsync(unit, DeviceIdentificationLevel.Basic, cancellation);
            return string.Join(", ", identification.Objects.OrderBy(o => o.Key).Select(o => o.Value));
        }
        catch (ModbusException e)
        {
            return $"not told ({e.Message})";
        }
    }

    private static List<TagCheck> Describe(IReadOnlyList<Tag> tags, ScanResult result, TimeProvider time)
    {
        var now = time.GetTimestamp();
        var checks = new List<TagCheck>(tags.Count);
        for (var i = 0; i < tags.Count; i++)
        {
            ref readonly var point = ref result.Points[i];
            var timing = point.TimingIndex >= 0 ? result.Timings[point.TimingIndex] : (ModbusTiming?)null;
            checks.Add(new TagCheck(
                tags[i],
                point.Error?.Code is null ? point.Raw.ToArray() : [],
                TagDecoder.Decode(tags[i], point),
                timing is { } read ? time.GetElapsedTime(read.Received, now) : null,
                timing?.RoundTrip(time)));
        }

        return checks;
    }
}
