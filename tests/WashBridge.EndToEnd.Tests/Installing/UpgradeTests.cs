using System.Globalization;
using System.IO.Compression;
using System.Text.Json.Nodes;
using Microsoft.Data.Sqlite;
using WashBridge.Core;
using WashBridge.EndToEnd.Tests.Program;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>Stores that earlier versions wrote are opened by this one: see tests/fixtures/stores.</summary>
public sealed class UpgradeTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(1)).Token;

    private string Store => _folder["plant.washdb"];

    /// <summary>The file of a store, or of its frames, compressed.</summary>
    internal static string Packed(string name) => Path.Combine(Repository.Root, "tests", "fixtures", "stores", name + ".gz");

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public async Task The_program_upgrades_an_old_store_says_so_and_everything_in_it_reads_as_before(int version)
    {
        Unpack(version);
        var (events, followers) = Raw(version);
        var (refused, _, advice) = await ProgramProcess.RunAsync(Deadline, "report", Store);
        Assert.Equal(3, refused);
        Assert.Contains("washbridge verify", advice);
        Assert.Contains("--upgrade", advice);

        var (exit, output, errors) = await ProgramProcess.RunAsync(Deadline, "verify", Store, "--upgrade", "--all");
        Assert.True(exit == 0, output + errors);
        Assert.Contains($"{Store}: brought from version {version} of its format to version ", output);
        Assert.Contains("all of it matches its checksums", output);
        Assert.Contains("is of this program's version already", (await ProgramProcess.RunAsync(Deadline, "verify", Store, "--upgrade")).Output);

        using var historian = HistorianFile.OpenReader(Store);
        Assert.Equal(Lines($"format-{version}.frames"), Frames(historian));
        var read = historian.ReadEvents(new EventQuery()).ToDictionary(e => e.Id, e => JsonNode.Parse(WashJson.Write(e))!);
        Assert.True(events.Count > 100);
        Assert.Equal(events.Keys.Order(StringComparer.Ordinal), read.Keys.Order(StringComparer.Ordinal));
        Assert.All(events, old => Contains(old.Value, read[old.Key], old.Key));
        Assert.True(followers.Count > 1);
        Assert.All(followers, f => Assert.Equal(f, historian.ReadFollower(f.Follower)));
        var first = historian.ReadLog(0, 1, LogContent.Frames)[0].Frame!;
        Assert.All(historian.Signals.Take(5), s => Assert.NotEmpty(historian.ReadSamples(s, first.Read.Earliest, first.Read.Latest + TimeSpan.FromHours(1))));
    }

    [Fact]
    public async Task A_scan_of_an_old_store_becomes_a_record_of_the_chain_and_its_keg_is_found()
    {
        Unpack(1);
        var (_, output, _) = await ProgramProcess.RunAsync(Deadline, "verify", Store, "--upgrade");
        Assert.Contains("Records: 2", output);
        var (exit, keg, errors) = await ProgramProcess.RunAsync(Deadline, "keg", Store, "K-0042");
        Assert.True(exit == 0, errors);
        Assert.Contains("K-0042", keg);
    }

    private void Unpack(int version)
    {
        using var packed = new GZipStream(File.OpenRead(Packed($"format-{version}.washdb")), CompressionMode.Decompress);
        using var file = File.Create(Store);
        packed.CopyTo(file);
    }

    /// <summary>Events and followers as the file itself holds them, read without any code of the historian.</summary>
    private (Dictionary<string, JsonNode> Events, List<FollowerState> Followers) Raw(int version)
    {
        using var connection = new SqliteConnection($"Data Source={Store};Mode=ReadOnly;Pooling=False");
        connection.Open();
        Assert.Equal((long)version, Rows(connection, "PRAGMA user_version")[0][0]);
        var events = Rows(connection, "SELECT id, body FROM events").ToDictionary(r => (string)r[0], r => JsonNode.Parse((string)r[1])!);
        return (events, [.. Rows(connection, "SELECT name, seq, state FROM followers").Select(r => new FollowerState((string)r[0], (long)r[1], r[2] as string))]);
    }

    private static List<object[]> Rows(SqliteConnection connection, string query)
    {
        using var command = connection.CreateCommand();
        command.CommandText = query;
        using var reader = command.ExecuteReader();
        var rows = new List<object[]>();
        while (reader.Read())
        {
            var row = new object[reader.FieldCount];
            reader.GetValues(row);
            rows.Add(row);
        }

        return rows;
    }

    /// <summary>Everything that was said is said still; newer versions may say more.</summary>
    private static void Contains(JsonNode? old, JsonNode? young, string where)
    {
        switch (old)
        {
            case JsonObject members:
                foreach (var (name, value) in members)
                {
                    Contains(value, young?[name], $"{where}.{name}");
                }

                break;
            case JsonArray items:
                Assert.True(young is JsonArray other && other.Count == items.Count, where);
                foreach (var (item, index) in items.Select((item, index) => (item, index)))
                {
                    Contains(item, young[index], $"{where}[{index}]");
                }

                break;
            default:
                Assert.True(JsonNode.DeepEquals(old, young), $"{where}: {old?.ToJsonString()} became {young?.ToJsonString()}");
                break;
        }
    }

    private static List<string> Lines(string fixture)
    {
        using var text = new StreamReader(new GZipStream(File.OpenRead(Packed(fixture)), CompressionMode.Decompress));
        return [.. text.ReadToEnd().Split('\n', StringSplitOptions.RemoveEmptyEntries)];
    }

    /// <summary>A line a frame and a line a sample, with all bits of each number, as the code of the time wrote them.</summary>
    private static IEnumerable<string> Frames(IHistorianReader historian)
    {
        foreach (var entry in historian.ReadLog(0, 1_000_000, LogContent.Frames))
        {
            var frame = entry.Frame!;
            yield return string.Create(CultureInfo.InvariantCulture, $"{entry.Sequence} {frame.Washer} {frame.Group} {frame.Kind} {frame.Read.Earliest.UnixMicroseconds} {frame.Read.Latest.UnixMicroseconds} {frame.Reason}");
            foreach (var sample in frame.Samples)
            {
                yield return string.Create(CultureInfo.InvariantCulture, $"  {sample.Signal} {sample.Signal.Unit} {BitConverter.DoubleToInt64Bits(sample.Value.Number):x} {sample.Value.Text} {sample.Quality} {sample.At.Earliest.UnixMicroseconds} {sample.At.Latest.UnixMicroseconds}");
            }
        }
    }
}
