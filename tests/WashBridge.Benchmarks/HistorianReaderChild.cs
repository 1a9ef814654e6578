using System.Globalization;

namespace WashBridge.Benchmarks;

/// <summary>A second process that reads, as whatever user it is started: prints the last number and how many entries it read.</summary>
internal sealed class HistorianReaderChild : IBench
{
    public string Name => "historian-reader-child";

    public string What => "PATH: reads a historian's whole log as the user it runs as, and prints its last number and its length";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        using var reader = Historian.Historian.OpenReader(arguments[0]);
        long last = 0;
        var count = 0;
        while (reader.ReadLog(last, 1000) is { Count: > 0 } entries)
        {
            last = entries[^1].Sequence;
            count += entries.Count;
        }

        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{reader.LastSequence} {count}"));
        return Task.CompletedTask;
    }
}
