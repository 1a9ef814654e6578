using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// Messages that were sent and not acknowledged yet (OPC 10000-4, 5.14.1.1). Bounded in messages and in values; the oldest is dropped first, and the
/// latest is always kept.
/// </summary>
internal sealed class RetransmissionQueue(int maxMessages, int maxValues)
{
    private readonly List<NotificationMessage> messages = [];
    private int values;

    /// <summary>The sequence numbers, the oldest first.</summary>
    public uint[] Available()
    {
        var numbers = new uint[messages.Count];
        for (var i = 0; i < numbers.Length; i++)
        {
            numbers[i] = messages[i].SequenceNumber;
        }

        return numbers;
    }

    public void Add(NotificationMessage message)
    {
        messages.Add(message);
        values += Values(message);
        while (messages.Count > 1 && (messages.Count > maxMessages || values > maxValues))
        {
            RemoveAt(0);
        }
    }

    public bool Acknowledge(uint sequenceNumber)
    {
        var index = messages.FindIndex(message => message.SequenceNumber == sequenceNumber);
        if (index < 0)
        {
            return false;
        }

        RemoveAt(index);
        return true;
    }

    public NotificationMessage? Find(uint sequenceNumber) => messages.Find(message => message.SequenceNumber == sequenceNumber);

    private static int Values(NotificationMessage message) => message.Notifications is [DataChangeNotification change] ? change.Items.Count : 0;

    private void RemoveAt(int index)
    {
        values -= Values(messages[index]);
        messages.RemoveAt(index);
    }
}
