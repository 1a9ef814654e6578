using WashBridge.Core.Cycles;

namespace WashBridge.Analysis;

/// <summary>A part of the analysis of one washer: a fold over events, without clock and I/O. The same events give the same findings with the same ids.</summary>
public interface IWatch
{
    /// <summary>Unique among a washer's watches; names its part of the snapshot.</summary>
    string Name { get; }

    /// <summary>Takes the next event and tells what follows from it; mostly nothing.</summary>
    IReadOnlyList<WashEvent> Accept(WashEvent washEvent);

    /// <summary>All that is remembered, as JSON. A watch that is made anew and given it goes on as if it had never stopped.</summary>
    string Snapshot();

    /// <exception cref="System.Text.Json.JsonException"><paramref name="snapshot"/> is not of this watch.</exception>
    void Restore(string snapshot);
}
