using Google.Protobuf;
using WashBridge.Messaging;

namespace WashBridge.Tests.Messaging;

/// <summary>A Sparkplug message read back by field numbers alone, so that a test can say what it must hold. An independent decoder reads the same bytes in the end-to-end tests.</summary>
internal sealed record SentMessage(string Topic, bool AtLeastOnce, bool Retain, ulong? Sequence, IReadOnlyList<SentMetric> Metrics)
{
    /// <summary>Such as <c>DDATA/bridge-1/w1</c>.</summary>
    public string Kind => string.Join('/', Topic.Split('/').Skip(2));

    public SentMetric this[string name] => Metrics.Single(m => m.Name == name);

    public static SentMessage Read(MqttMessage message)
    {
        var (sequence, metrics) = ((ulong?)null, new List<SentMetric>());
        var input = new CodedInputStream(message.Payload.ToArray());
        while (input.ReadTag() is not 0 and var tag)
        {
            switch (WireFormat.GetTagFieldNumber(tag))
            {
                case 2:
                    metrics.Add(SentMetric.Read(input.ReadBytes()));
                    break;
                case 3:
                    sequence = input.ReadUInt64();
                    break;
                default:
                    input.SkipLastField();
                    break;
            }
        }

        return new SentMessage(message.Topic, message.AtLeastOnce, message.Retain, sequence, metrics);
    }
}

internal sealed record SentMetric
{
    public string? Name { get; private set; }

    public ulong? Alias { get; private set; }

    public ulong At { get; private set; }

    public ulong? Type { get; private set; }

    public bool IsHistorical { get; private set; }

    public bool IsNull { get; private set; }

    public bool HasProperties { get; private set; }

    public object? Value { get; private set; }

    public static SentMetric Read(ByteString bytes)
    {
        var metric = new SentMetric();
        var input = bytes.CreateCodedInput();
        while (input.ReadTag() is not 0 and var tag)
        {
            switch (WireFormat.GetTagFieldNumber(tag))
            {
                case 1:
                    metric.Name = input.ReadString();
                    break;
                case 2:
                    metric.Alias = input.ReadUInt64();
                    break;
                case 3:
                    metric.At = input.ReadUInt64();
                    break;
                case 4:
                    metric.Type = input.ReadUInt64();
                    break;
                case 5:
                    metric.IsHistorical = input.ReadBool();
                    break;
                case 7:
                    metric.IsNull = input.ReadBool();
                    break;
                case 10 or 11:
                    metric.Value = (long)input.ReadUInt64();
                    break;
                case 13:
                    metric.Value = input.ReadDouble();
                    break;
                case 14:
                    metric.Value = input.ReadBool();
                    break;
                case 15:
                    metric.Value = input.ReadString();
                    break;
                default:
                    metric.HasProperties = true;
                    input.SkipLastField();
                    break;
            }
        }

        return metric;
    }
}
