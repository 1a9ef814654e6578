using WashBridge.Messaging;

namespace WashBridge.Tests.Messaging;

/// <summary>A broker in memory. What was published and not confirmed is lost when it goes down.</summary>
internal sealed class FakeBroker
{
    private readonly Lock _lock = new();
    private readonly List<MqttMessage> _taken = [];
    private readonly List<MqttMessage> _onTheWay = [];
    private TaskCompletionSource _changed = New();
    private Link? _link;
    private Exception? _end;

    /// <summary>The wills of all connections, in order.</summary>
    public List<MqttMessage> Wills { get; } = [];

    public List<string> Subscriptions { get; } = [];

    public int Disconnects { get; private set; }

    /// <summary>Why nobody gets in; null: it is up.</summary>
    public MqttLinkException? Refusal { get; set; }

    /// <summary>Goes down when it is asked whether it has what was published, so many times later; null: never.</summary>
    public int? DownAtConfirmation { get; set; }

    public IReadOnlyList<SentMessage> Taken
    {
        get
        {
            lock (_lock)
            {
                return [.. _taken.Where(m => m.Topic.StartsWith("spBv1.0/", StringComparison.Ordinal)).Select(SentMessage.Read)];
            }
        }
    }

    public IReadOnlyList<MqttMessage> States
    {
        get
        {
            lock (_lock)
            {
                return [.. _taken.Where(m => m.Topic.StartsWith("washbridge/", StringComparison.Ordinal))];
            }
        }
    }

    /// <summary>Said right after the subscription, as what is retained is.</summary>
    public Dictionary<string, byte[]> Retained { get; } = [];

    public IMqttLink Connect() => new Link(this);

    public void Say(string topic, byte[] payload) => _link!.Received(topic, payload);

    public void GoDown()
    {
        Link? link;
        lock (_lock)
        {
            Refusal = new MqttLinkException(MqttFailure.Unreachable, "refused");
            _onTheWay.Clear();
            (link, _link) = (_link, null);
        }

        link?.Lose();
    }

    /// <summary>Returns once it has taken messages of which that holds.</summary>
    public async Task SeeAsync(Func<IReadOnlyList<SentMessage>, bool> enough)
    {
        while (true)
        {
            Task changed;
            lock (_lock)
            {
                changed = _changed.Task;
                if (_end is not null)
                {
                    throw new InvalidOperationException("the follower failed", _end);
                }
            }

            if (enough(Taken))
            {
                return;
            }

            await changed.WaitAsync(TestContext.Current.CancellationToken);
        }
    }

    public Task SeeAsync(string kind, int times = 1) => SeeAsync(all => all.Count(m => m.Kind == kind) >= times);

    /// <summary>Nothing more will come.</summary>
    public void End(Exception cause)
    {
        _end = cause;
        Change();
    }

    private static TaskCompletionSource New() => new(TaskCreationOptions.RunContinuationsAsynchronously);

    private void Change()
    {
        TaskCompletionSource changed;
        lock (_lock)
        {
            (changed, _changed) = (_changed, New());
        }

        changed.SetResult();
    }

    private sealed class Link(FakeBroker broker) : IMqttLink
    {
        private Action<string>? _lost;
        private bool _isUp;

        public Action<string, byte[]> Received { get; private set; } = (_, _) => { };

        public Task ConnectAsync(MqttMessage? will, Action<string, byte[]> received, Action<string> lost, CancellationToken cancellation)
        {
            if (broker.Refusal is { } refusal)
            {
                throw refusal;
            }

            (Received, _lost, _isUp, broker._link) = (received, lost, true, this);
            broker.Wills.Add(will!);
            return Task.CompletedTask;
        }

        public Task SubscribeAsync(IReadOnlyList<string> topics, CancellationToken cancellation)
        {
            broker.Subscriptions.AddRange(topics);
            foreach (var topic in topics.Where(broker.Retained.ContainsKey))
            {
                Received(topic, broker.Retained[topic]);
            }

            return Task.CompletedTask;
        }

        public Task PublishAsync(MqttMessage message, CancellationToken cancellation)
        {
            ThrowIfDown();
            lock (broker._lock)
            {
                (message.AtLeastOnce ? broker._taken : broker._onTheWay).Add(message);
            }

            broker.Change();
            return Task.CompletedTask;
        }

        public Task ConfirmAsync(CancellationToken cancellation)
        {
            if (broker.DownAtConfirmation is { } left && (broker.DownAtConfirmation = left - 1) < 0)
            {
                broker.DownAtConfirmation = null;
                broker.GoDown();
            }

            ThrowIfDown();
            lock (broker._lock)
            {
                broker._taken.AddRange(broker._onTheWay);
                broker._onTheWay.Clear();
            }

            broker.Change();
            return Task.CompletedTask;
        }

        public Task DisconnectAsync(CancellationToken cancellation)
        {
            ThrowIfDown();
            broker.Disconnects++;
            _isUp = false;
            broker.Change();
            return Task.CompletedTask;
        }

        public ValueTask DisposeAsync()
        {
            _isUp = false;
            return ValueTask.CompletedTask;
        }

        public void Lose()
        {
            _isUp = false;
            _lost!("the power went");
        }

        private void ThrowIfDown()
        {
            if (!_isUp)
            {
                throw new MqttLinkException(MqttFailure.Unreachable, "broken");
            }
        }
    }
}
