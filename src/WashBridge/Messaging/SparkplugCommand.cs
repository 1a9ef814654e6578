using Google.Protobuf;

namespace WashBridge.Messaging;

/// <summary>What a message to the edge node asks for. A rebirth is the only thing that is ever taken in; of all else the names are kept for the log.</summary>
/// <param name="AsksForRebirth">It holds the metric <c>Node Control/Rebirth</c> with the value true.</param>
/// <param name="Ignored">Names or aliases of its other metrics, at most <see cref="MostNames"/> of them.</param>
internal sealed record SparkplugCommand(bool AsksForRebirth, IReadOnlyList<string> Ignored)
{
    public const string Rebirth = "Node Control/Rebirth";

    public const int MostNames = 10;

    private const int MostNameCharacters = 80;

    /// <summary>Null: it is no Sparkplug B payload.</summary>
    public static SparkplugCommand? Read(byte[] message)
    {
        try
        {
            var input = new CodedInputStream(message);
            var (asks, ignored) = (false, new List<string>());
            while (input.ReadTag() is not 0 and var tag)
            {
                if (tag != WireFormat.MakeTag(2, WireFormat.WireType.LengthDelimited))
                {
                    input.SkipLastField();
                    continue;
                }

                var (name, isTrue) = ReadMetric(input.ReadBytes());
                if (name == Rebirth)
                {
                    asks |= isTrue;
                }
                else if (ignored.Count < MostNames)
                {
                    ignored.Add(Printable(name));
                }
            }

            return new SparkplugCommand(asks, ignored);
        }
        catch (InvalidProtocolBufferException)
        {
            return null;
        }
    }

    private static (string Name, bool IsTrue) ReadMetric(ByteString metric)
    {
        var input = metric.CreateCodedInput();
        var (name, alias, isTrue) = ("", 0UL, false);
        while (input.ReadTag() is not 0 and var tag)
        {
            switch (tag)
            {
                case 1 << 3 | (uint)WireFormat.WireType.LengthDelimited:
                    name = input.ReadString();
                    break;
                case 2 << 3 | (uint)WireFormat.WireType.Varint:
                    alias = input.ReadUInt64();
                    break;
                case 14 << 3 | (uint)WireFormat.WireType.Varint:
                    isTrue = input.ReadBool();
                    break;
                default:
                    input.SkipLastField();
                    break;
            }
        }

        return (name.Length > 0 ? name : $"alias {alias}", isTrue);
    }

    /// <summary>It stands in the log, and comes from whoever may publish.</summary>
    internal static string Printable(string name) => new([.. name.Take(MostNameCharacters).Select(c => char.IsControl(c) || char.IsSurrogate(c) ? '?' : c)]);
}
