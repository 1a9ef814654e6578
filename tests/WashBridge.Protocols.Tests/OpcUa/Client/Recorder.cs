using WashBridge.Protocols.OpcUa.Client;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>Writes down what a subscription tells.</summary>
internal sealed class Recorder(TimeProvider time) : ISubscriptionListener
{
    /// <summary>One line an event, in order.</summary>
    public List<string> Events { get; } = [];

    public List<PublishedNotification> Notifications { get; } = [];

    public List<MonitoredItemState> Items { get; } = [];

    public List<bool> Resumed { get; } = [];

    public List<(string Reason, long Stamp)> Interrupted { get; } = [];

    public List<ClockOffset> Clocks { get; } = [];

    public List<long> KeepAlives { get; } = [];

    /// <summary>Numbers told for a handle, in order.</summary>
    public IEnumerable<double> ValuesOf(uint handle) => Notifications.SelectMany(n => n.Values).Where(v => v.ClientHandle == handle).Select(v => v.Value.Value.As<double>());

    public MonitoredItemState Item(uint handle) => Items.Last(i => i.ClientHandle == handle);

    public Action<PublishedNotification> OnValues { get; set; } = static _ => { };

    public void OnNotification(in PublishedNotification notification)
    {
        Notifications.Add(notification);
        Events.Add($"{notification.Origin} {notification.SequenceNumber}{(notification.Continuous ? "" : " after a gap")}: {string.Join(" ", notification.Values.Select(v => $"{v.ClientHandle}={v.Value.Value}"))}");
        OnValues(notification);
    }

    public void OnKeepAlive(DateTime serverTime, long sent, long received)
    {
        KeepAlives.Add(received);
        Events.Add("keep-alive");
    }

    public void OnItemChanged(in MonitoredItemState item) => Items.Add(item);

    public void OnInterrupted(string reason, long stamp)
    {
        Assert.InRange(stamp, 0, time.GetTimestamp());
        Interrupted.Add((reason, stamp));
        Events.Add("interrupted");
    }

    public void OnResumed(bool continuous)
    {
        Resumed.Add(continuous);
        Events.Add(continuous ? "resumed" : "begun anew");
    }

    public void OnClockOffset(in ClockOffset offset) => Clocks.Add(offset);
}
