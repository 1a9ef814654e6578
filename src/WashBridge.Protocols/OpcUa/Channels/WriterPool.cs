using WashBridge.Protocols.OpcUa.Encoding;

namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>A few writers that keep their buffers from message to message; those that grew large are not kept.</summary>
internal sealed class WriterPool(int kept)
{
    private const int KeptBytes = 256 * 1024;

    private readonly Stack<UaWriter> writers = new();

    public UaWriter Rent()
    {
        lock (writers)
        {
            return writers.TryPop(out var writer) ? writer : new UaWriter();
        }
    }

    public void Return(UaWriter writer)
    {
        lock (writers)
        {
            if (writers.Count < kept && writer.Length <= KeptBytes)
            {
                writers.Push(writer);
                return;
            }
        }

        writer.Dispose();
    }
}
