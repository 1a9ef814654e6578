using Microsoft.Data.Sqlite;
using WashBridge.Benchmarks;
using WashBridge.Core.Records;
using WashBridge.Historian;

namespace WashBridge.EndToEnd.Tests.Historian;

/// <summary>Another program, in another language, from the written format alone.</summary>
public sealed class RecomputedRecordTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("records").FullName;

    private string StorePath => Path.Combine(_folder, "line.washdb");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public async Task Python_recomputes_the_same_chain_and_finds_the_same_break()
    {
        RecordHead head;
        using (var historian = WashBridge.Historian.Historian.Open(StorePath, new HistorianOptions(), TimeProvider.System))
        {
            historian.AppendEvents([.. RecordsBench.Invented(200)]);
            head = historian.RecordHead!;
        }

        Assert.Equal((0, $"{head}"), await RecomputeAsync());

        await using (var connection = new SqliteConnection($"Data Source={StorePath};Pooling=False"))
        {
            await connection.OpenAsync(TestContext.Current.CancellationToken);
            await using var command = connection.CreateCommand();
            command.CommandText = "UPDATE events SET body = replace(body, 'T. Ester', 'T. Oster') WHERE seq = (SELECT event FROM records WHERE number = 77)";
            Assert.Equal(1, await command.ExecuteNonQueryAsync(TestContext.Current.CancellationToken));
        }

        Assert.Equal((0, $"breaks at 77\n{head}"), await RecomputeAsync());
        using var reader = WashBridge.Historian.Historian.OpenReader(StorePath);
        Assert.Equal(77, Assert.Single(reader.VerifyRecords(cancellation: TestContext.Current.CancellationToken).Breaks).Number);
    }

    private Task<(int ExitCode, string Output)> RecomputeAsync() => PeerProcess.RunAsync("/usr/bin/python3", "recompute_records.py", StorePath);
}
