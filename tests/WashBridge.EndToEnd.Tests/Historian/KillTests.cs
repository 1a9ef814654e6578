using System.Globalization;
using WashBridge.Benchmarks;
using WashBridge.Core.Signals;
using WashBridge.Historian;

namespace WashBridge.EndToEnd.Tests.Historian;

/// <summary>A real process is killed in full flow, again and again; whatever it had acknowledged must be there, in order and whole.</summary>
public sealed class KillTests : IDisposable
{
    private const int Kills = 50;
    private const int Seed = 4711;
    private const int MostBatches = 100_000;

    private readonly string _folder = Directory.CreateTempSubdirectory("washdb").FullName;

    private string StorePath => Path.Combine(_folder, "line.washdb");

    [Fact]
    public void Nothing_acknowledged_is_lost_when_the_writer_is_killed_fifty_times_also_while_it_seals()
    {
        var random = new Random(Seed);
        for (var kill = 1; kill <= Kills; kill++)
        {
            var acknowledged = RunAndKill(random.Next(1, 120), untilSealed: kill % 5 == 0);
            Check(acknowledged, all: kill % 10 == 0, $"seed {Seed}, kill {kill}");
        }

        using var historian = WashBridge.Historian.Historian.Open(StorePath, new HistorianOptions(), TimeProvider.System);
        Assert.Empty(historian.Verify(cancellation: TestContext.Current.CancellationToken));
        Assert.NotEqual(0, SealedSegments());
        var last = historian.LastSequence;
        Assert.Equal(last + 1, historian.AppendFrames([HistorianWriterChild.FrameAt(last + 1)]));
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    /// <summary>
    /// Lets the writer acknowledge some batches and kills it in the middle of what comes after; most writers die before or while they seal, those that
    /// are let on <paramref name="untilSealed"/> in the course of some later seal. Returns the last number acknowledged.
    /// </summary>
    private long RunAndKill(int batches, bool untilSealed)
    {
        using var child = ChildProcess.Start(["historian-writer-child", StorePath]);
        long acknowledged = 0;
        var sealedBefore = untilSealed ? SealedSegments() : 0;
        for (var i = 0; i <= batches || (untilSealed && i < MostBatches && SealedSegments() == sealedBefore); i++)
        {
            var line = child.Output.ReadLine() ?? throw new InvalidOperationException($"the writer ended: {child.Error.ReadToEnd()}");
            acknowledged = long.Parse(line, CultureInfo.InvariantCulture);
        }

        child.Kill();

        // What it still said before it died counts too; a line cut short by the kill does not.
        var rest = child.Output.ReadToEnd();
        var complete = rest[..(rest.LastIndexOf('\n') + 1)].Split('\n', StringSplitOptions.RemoveEmptyEntries);
        return complete.Length > 0 ? long.Parse(complete[^1], CultureInfo.InvariantCulture) : acknowledged;
    }

    /// <summary>Compares the end of the log, or all of it, with what the numbers say must be there.</summary>
    private void Check(long acknowledged, bool all, string which)
    {
        using var reader = WashBridge.Historian.Historian.OpenReader(StorePath);
        var last = reader.LastSequence;
        Assert.True(last >= acknowledged, $"{which}: {acknowledged} was acknowledged, {last} is stored");
        Assert.True(EndsWithABatch(last), $"{which}: {last} is not the end of a batch");
        var expected = all ? 1 : Math.Max(1, last - 1000);
        while (reader.ReadLog(expected - 1, 4000) is { Count: > 0 } entries)
        {
            foreach (var entry in entries)
            {
                Assert.True(expected == entry.Sequence, $"{which}: {entry.Sequence} in the place of {expected}");
                AssertSame(HistorianWriterChild.FrameAt(expected), entry.Frame!);
                expected++;
            }
        }

        Assert.Equal(last + 1, expected);
        Assert.Empty(reader.Damage);
    }

    /// <summary>A batch is there as a whole or not at all.</summary>
    private static bool EndsWithABatch(long last)
    {
        long next = 1;
        while (next <= last)
        {
            next += HistorianWriterChild.BatchSize(next);
        }

        return next == last + 1;
    }

    private static void AssertSame(Frame expected, Frame found)
    {
        Assert.Equal(expected with { Samples = [] }, found with { Samples = [] });
        Assert.Equal(expected.Samples, found.Samples);
    }

    private long SealedSegments()
    {
        using var connection = new Microsoft.Data.Sqlite.SqliteConnection($"Data Source={StorePath};Mode=ReadOnly;Pooling=False");
        connection.Open();
        using var command = connection.CreateCommand();
        command.CommandText = "SELECT count(*) FROM segments";
        return (long)command.ExecuteScalar()!;
    }
}
