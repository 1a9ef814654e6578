using System.Net;
using System.Text.Json;
using WashBridge.Core.Cycles;
using WashBridge.Forwarding;

namespace WashBridge.Tests.Forwarding;

/// <summary>Lines that the server will never take, among good ones.</summary>
public sealed class InfluxPoisonTests
{
    private static readonly InfluxFollowerOptions Options = new() { Gather = TimeSpan.Zero };

    [Theory]
    [InlineData(HttpStatusCode.BadRequest)]
    [InlineData(HttpStatusCode.RequestEntityTooLarge)]
    [InlineData(HttpStatusCode.UnprocessableEntity)]
    public async Task Bad_lines_are_found_set_aside_with_the_reason_and_block_nothing(HttpStatusCode status)
    {
        await using var following = new Following { Options = Options };
        int[] bad = [1, 17, 18, 500, 999, 1000];
        following.Influx.Refuse("poison", status);
        following.Add([.. Enumerable.Range(1, 1000).Select(i => Scan(i, bad.Contains(i)))]);
        following.Start();
        await MovedToAsync(following, 1000);

        var expected = Enumerable.Range(1, 1000).Except(bad).Select(i => $"scan/{i}");
        Assert.Equal(expected.Order(), following.Influx.Accepted.Select(InfluxFollowerTests.IdOf).Distinct().Order());
        var entries = following.SetAside().Select(l => JsonDocument.Parse(l).RootElement).ToList();
        Assert.Equal(bad.Select(i => $"scan/{i}"), entries.Select(e => e.GetProperty("event").GetString()));
        Assert.Equal(bad.Select(i => (long)i), entries.Select(e => e.GetProperty("sequence").GetInt64()));
        Assert.All(entries, e => Assert.StartsWith($"{(int)status} ", e.GetProperty("reason").GetString(), StringComparison.Ordinal));
        Assert.All(entries, e => Assert.Contains("field type conflict", e.GetProperty("reason").GetString(), StringComparison.Ordinal));
        Assert.All(entries, e => Assert.StartsWith("wash_scan,site=north", e.GetProperty("line").GetString(), StringComparison.Ordinal));
        Assert.Equal(bad.Length, following.Status.LinesSetAside);
        Assert.Equal(994, following.Status.LinesDelivered);
        Assert.Equal(bad.Length, following.Log.Count(3105));
        Assert.Null(following.Status.Condition);
    }

    /// <summary>A bad line costs two requests for each halving, not one for each line.</summary>
    [Fact]
    public async Task One_bad_line_among_thousands_is_found_by_halving()
    {
        await using var following = new Following { Options = Options };
        following.Influx.Refuse("poison");
        following.Add([.. Enumerable.Range(1, 4096).Select(i => Scan(i, i == 3000))]);
        following.Start();
        await MovedToAsync(following, 4096);
        Assert.Equal(1 + (2 * 12), following.Influx.All.Count);
    }

    [Fact]
    public async Task An_outage_in_the_middle_of_the_search_neither_loses_nor_condemns_anything()
    {
        await using var following = new Following { Options = Options };
        following.Influx.Refuse("poison");
        var server = following.Influx.Answer;
        var requests = 0;
        following.Influx.Answer = (request, stop) => ++requests % 2 == 0 ? throw new HttpRequestException("refused") : server(request, stop);
        following.Add([.. Enumerable.Range(1, 100).Select(i => Scan(i, i == 50))]);
        following.Start();
        var moved = MovedToAsync(following, 100);
        while (!moved.IsCompleted)
        {
            await Task.WhenAny(following.PassWaitAsync(), moved);
        }

        await moved;
        Assert.Equal(99, following.Influx.Accepted.Distinct().Count());
        Assert.Single(following.SetAside());
    }

    [Fact]
    public async Task What_line_protocol_cannot_express_is_set_aside_without_asking_the_server()
    {
        await using var following = new Following { Options = Options };
        following.Add(InfluxFollowerTests.Scan(1) with { Washer = "line\nfeed" }, InfluxFollowerTests.Scan(2), InfluxFollowerTests.Scan(3) with { At = default(Core.Time.TimeBounds) with { Latest = new(long.MaxValue) } });
        following.Start();
        await MovedToAsync(following, 3);
        Assert.Single(Assert.Single(following.Influx.All).Lines);
        var reasons = following.SetAside().Select(l => JsonDocument.Parse(l).RootElement.GetProperty("reason").GetString()!).ToList();
        Assert.Equal(2, reasons.Count);
        Assert.Contains("control character", reasons[0], StringComparison.Ordinal);
        Assert.Contains("outside of what InfluxDB can hold", reasons[1], StringComparison.Ordinal);
    }

    /// <summary>The run before set a line aside and ended before its cursor moved.</summary>
    [Fact]
    public async Task A_line_that_was_set_aside_before_the_cursor_moved_is_not_set_aside_twice()
    {
        await using var following = new Following { Options = Options };
        following.Influx.Refuse("poison");
        following.Add(Scan(1, true), Scan(2, true));
        var file = new SetAsideFile(following.SetAsidePath, "influx/plant", following.Time);
        var line = InfluxPoisonTests.LineOf(Scan(1, true), 1);
        file.Append([new SetAsideLine(new LineOrigin(1, "scan/1"), "before", line)], cursor: 0);
        following.Start();
        await MovedToAsync(following, 2);
        Assert.Equal(["scan/1", "scan/2"], following.SetAside().Select(l => JsonDocument.Parse(l).RootElement.GetProperty("event").GetString()));
        Assert.Equal(2, following.Status.LinesSetAside);
    }

    [Fact]
    public async Task A_set_aside_file_that_cannot_be_written_holds_the_cursor_and_is_shown()
    {
        await using var following = new Following { Options = Options };
        following.Influx.Refuse("poison");
        Directory.CreateDirectory(following.SetAsidePath);
        following.Add(Scan(1, true));
        following.Start();
        var wait = await following.Time.NextWaitAsync(Options.RequestTimeout);
        Assert.Equal(InfluxFailure.SetAside, following.Status.Condition!.Failure);
        Assert.True(following.Status.Condition.NeedsAction);
        Assert.Empty(following.Historian.Moves);
        Directory.Delete(following.SetAsidePath);
        following.Time.Advance(wait);
        await MovedToAsync(following, 1);
        Assert.Single(following.SetAside());
        Assert.Null(following.Status.Condition);
    }

    private static KegScanned Scan(int number, bool poison) =>
        InfluxFollowerTests.Scan(number) with { KegId = poison ? "poison" : $"K-{number}" };

    private static string LineOf(WashEvent washEvent, long sequence)
    {
        var batch = new LineBatch();
        new EventPoints("north").Append(sequence, washEvent, batch);
        return batch.Text(0, 1);
    }

    /// <summary>Everything is done with, and the follower has ended so that its status stands still.</summary>
    private static async Task MovedToAsync(Following following, long sequence)
    {
        await following.Historian.MovedToAsync("influx/plant", sequence);
        await following.StopAsync();
    }
}
