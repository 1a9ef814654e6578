using System.Text.Json;
using WashBridge.Forwarding;

namespace WashBridge.Tests.Forwarding;

public sealed class SetAsideFileTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("washbridge-").FullName;
    private readonly RecordingTime _time = new();

    private string FilePath => System.IO.Path.Combine(_folder, "store.db.plant.rejected.jsonl");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Lines_are_kept_as_json_with_where_they_come_from()
    {
        New().Append([new SetAsideLine(new LineOrigin(17, "w1/x"), "400: no", "m,t=ü f=\"a\nb\" 1")], cursor: 3);
        var line = Assert.Single(File.ReadAllLines(FilePath));
        var json = JsonDocument.Parse(line).RootElement;
        Assert.Equal("2031-03-05T08:00:00+00:00", json.GetProperty("at").GetString());
        Assert.Equal("influx/plant", json.GetProperty("follower").GetString());
        Assert.Equal(17, json.GetProperty("sequence").GetInt64());
        Assert.Equal("w1/x", json.GetProperty("event").GetString());
        Assert.Equal("400: no", json.GetProperty("reason").GetString());
        Assert.Equal("m,t=ü f=\"a\nb\" 1", json.GetProperty("line").GetString());
    }

    /// <summary>The lines of a sample frame share a sequence number; the text tells them apart.</summary>
    [Fact]
    public void What_a_run_before_has_written_is_not_written_again()
    {
        New().Append([Line(5, "a"), Line(5, "b")], cursor: 4);
        New().Append([Line(5, "a"), Line(5, "b"), Line(5, "c")], cursor: 4);
        Assert.Equal(3, File.ReadAllLines(FilePath).Length);
    }

    [Fact]
    public void What_is_torn_at_the_end_is_closed_off_and_written_again()
    {
        New().Append([Line(5, "a")], cursor: 4);
        File.AppendAllText(FilePath, """{"at":"2031-03-05T08:00:00+00:00","follower":"influx/plant","sequ""");
        New().Append([Line(6, "b")], cursor: 4);
        var lines = File.ReadAllLines(FilePath);
        Assert.Equal(3, lines.Length);
        Assert.Equal("b", JsonDocument.Parse(lines[2]).RootElement.GetProperty("line").GetString());
    }

    [Fact]
    public void A_full_file_becomes_the_old_one_and_the_one_that_was_old_is_given_up_and_counted()
    {
        var file = New(maxBytes: 300);
        var givenUp = Enumerable.Range(1, 12).Select(i => file.Append([Line(i, $"line {i}")], cursor: 0)).ToList();
        var kept = File.ReadLines(FilePath).Concat(File.ReadLines(FilePath + ".old")).Count();
        Assert.True(givenUp.Sum() > 0);
        Assert.Equal(12, kept + givenUp.Sum());
        Assert.InRange(new FileInfo(FilePath).Length + new FileInfo(FilePath + ".old").Length, 1, 1200);
    }

    private static SetAsideLine Line(long sequence, string text) => new(new LineOrigin(sequence, null), "no", text);

    private SetAsideFile New(long maxBytes = SetAsideFile.DefaultMaxBytes) => new(FilePath, "influx/plant", _time, maxBytes);
}
