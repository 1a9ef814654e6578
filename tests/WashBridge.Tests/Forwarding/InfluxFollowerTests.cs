using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Forwarding;

namespace WashBridge.Tests.Forwarding;

/// <summary>A server that is well: batches, the cursor, pace, starting and stopping.</summary>
public sealed class InfluxFollowerTests
{
    [Fact]
    public async Task What_is_in_the_log_is_sent_and_the_cursor_moves_after_the_answer()
    {
        await using var following = new Following();
        following.Add(Scan(1), Scan(2));
        var held = new TaskCompletionSource();
        following.Influx.Answer = async (_, _) =>
        {
            await held.Task;
            return FakeInflux.NoContent();
        };
        following.Start();
        Assert.Empty(following.Historian.Moves);
        held.SetResult();
        await following.Influx.NextAsync();

        following.Influx.Answer = (_, _) => Task.FromResult(FakeInflux.NoContent());
        following.Add(Scan(3));
        var request = await following.Influx.NextAsync();
        Assert.Equal(2, following.Historian.Moves[0].Sequence);
        Assert.Equal("influx/plant", following.Historian.Moves[0].Follower);
        var line = Assert.Single(request.Lines);
        Assert.StartsWith("wash_scan,site=north,station=1,washer=w1 id=\"scan/3\",keg=\"K-3\",width_us=0i ", line, StringComparison.Ordinal);
        Assert.Equal(3, following.Influx.Accepted.Count);
    }

    [Fact]
    public async Task A_long_log_goes_in_requests_of_bounded_size_one_at_a_time_and_in_order()
    {
        await using var following = new Following { Options = new InfluxFollowerOptions { MaxLines = 50, Gather = TimeSpan.Zero } };
        var events = Enumerable.Range(1, 1234).Select(Scan).ToArray();
        following.Add(events);
        following.Start();
        for (var sent = 0; sent < events.Length;)
        {
            var request = await following.Influx.NextAsync();
            Assert.InRange(request.Lines.Count, 1, 50);
            sent += request.Lines.Count;
        }

        Assert.Equal(1, following.Influx.MostInFlight);
        Assert.Equal(events.Select(e => e.Id), following.Influx.Accepted.Select(IdOf));
        Assert.Equal(25, following.Influx.All.Count);
    }

    [Fact]
    public async Task An_entry_with_more_lines_than_a_request_may_carry_goes_in_several_and_the_cursor_moves_after_the_last()
    {
        await using var following = new Following
        {
            Options = new InfluxFollowerOptions { MaxLines = 7, Gather = TimeSpan.Zero },
            Configuration = new() { Id = "plant", Url = new Uri("http://influx.example/"), Api = 1, Bucket = "keg", Samples = true },
        };
        following.Add(new WashDay(1).Frames(count: 1, samplesEach: 20)[0]);
        following.Start();
        Assert.Equal(7, (await following.Influx.NextAsync()).Lines.Count);
        Assert.Equal(7, (await following.Influx.NextAsync()).Lines.Count);
        Assert.Equal(6, (await following.Influx.NextAsync()).Lines.Count);
        following.Add(Scan(1));
        await following.Influx.NextAsync();
        Assert.Equal(1, following.Historian.Moves[0].Sequence);
    }

    [Fact]
    public async Task A_follower_that_is_up_to_date_gathers_before_the_next_request()
    {
        await using var following = new Following { Options = new InfluxFollowerOptions { Gather = TimeSpan.FromSeconds(1) } };
        following.Add(Scan(1));
        following.Start();
        await following.Influx.NextAsync();
        following.Add(Scan(2));
        var wait = await following.Time.NextWaitAsync(except: following.Options.RequestTimeout);
        Assert.Equal(TimeSpan.FromSeconds(1), wait);
        following.Add(Scan(3), Scan(4));
        following.Time.Advance(wait);
        Assert.Equal(3, (await following.Influx.NextAsync()).Lines.Count);
    }

    [Fact]
    public async Task A_follower_starts_again_where_its_cursor_stands()
    {
        await using var following = new Following();
        following.Add(Scan(1), Scan(2), Scan(3));
        following.Historian.AppendEvents([], new("influx/plant", 2, """{"setAside":4,"omitted":1}"""));
        following.Start();
        Assert.Single((await following.Influx.NextAsync()).Lines, l => IdOf(l) == "scan/3");
        Assert.Equal(4, following.Status.LinesSetAside);
        Assert.Equal(1, following.Status.FieldsOmitted);
    }

    [Fact]
    public async Task Stopping_abandons_the_request_under_way_and_leaves_the_cursor()
    {
        await using var following = new Following();
        following.Add(Scan(1));
        var arrived = new TaskCompletionSource();
        following.Influx.Answer = async (_, stop) =>
        {
            arrived.SetResult();
            await Task.Delay(Timeout.InfiniteTimeSpan, following.Time, stop);
            return FakeInflux.NoContent();
        };
        following.Start();
        await arrived.Task;
        await following.StopAsync();
        Assert.Empty(following.Historian.Moves);
        Assert.Equal(1, following.Log.Count(3108));
        Assert.Equal(0, following.Status.Cursor);
        Assert.Equal(1, following.Status.Backlog);
        Assert.Null(following.Status.Condition);
    }

    /// <summary>Retention never passes a follower that is behind, so a follower of events must not look as if it were.</summary>
    [Fact]
    public async Task The_cursor_moves_over_entries_that_need_no_lines_once_in_a_while()
    {
        await using var following = new Following { Options = new InfluxFollowerOptions { Gather = TimeSpan.Zero, IdleCursor = TimeSpan.FromMinutes(1) } };
        var frames = new WashDay(1).Frames(count: 3, samplesEach: 1);
        following.Add(Scan(1));
        following.Start();
        await following.Historian.MovedToAsync("influx/plant", 1);
        following.Add(frames[0]);
        following.Add(Scan(2));
        await following.Historian.MovedToAsync("influx/plant", 3);
        following.Time.Advance(TimeSpan.FromMinutes(1));
        following.Add(frames[1]);
        await following.Historian.MovedToAsync("influx/plant", 4);
        following.Add(frames[2]);
        await following.StopAsync();
        Assert.Equal([1, 3, 4], following.Historian.Moves.Select(m => m.Sequence));
        Assert.Equal(2, following.Influx.All.Count);
    }

    [Fact]
    public async Task Samples_are_forwarded_where_the_configuration_asks_for_them_and_else_not()
    {
        await using var with = new Following { Configuration = new() { Id = "plant", Url = new Uri("http://influx.example/"), Api = 1, Bucket = "keg", Samples = true } };
        with.Add(new WashDay(1).Frames(count: 3, samplesEach: 10).ToArray());
        with.Start();
        Assert.Equal(30, (await with.Influx.NextAsync()).Lines.Count);

        await using var without = new Following();
        without.Add(new WashDay(1).Frames(count: 3, samplesEach: 10).ToArray());
        without.Add(Scan(1));
        without.Start();
        Assert.Single((await without.Influx.NextAsync()).Lines);
    }

    [Fact]
    public async Task Numbers_without_a_form_are_left_out_counted_and_told_of()
    {
        await using var following = new Following();
        following.Add(Setpoint(1, double.NaN), Setpoint(2, 5));
        following.Add(Scan(3));
        following.Start();
        var request = await following.Influx.NextAsync();
        Assert.DoesNotContain("new_value", request.Lines[0], StringComparison.Ordinal);
        Assert.Contains("new_value=5,old_value=1", request.Lines[1], StringComparison.Ordinal);
        following.Add(Scan(4));
        await following.Influx.NextAsync();
        Assert.Equal(1, following.Status.FieldsOmitted);
        Assert.Equal(1, following.Log.Count(3107));
    }

    internal static KegScanned Scan(int number) => new()
    {
        Id = $"scan/{number}", Washer = "w1", At = TimeBounds.At(Instant.Parse("2031-03-05T08:00:00Z") + TimeSpan.FromSeconds(number)), Station = 1, KegId = $"K-{number}",
    };

    internal static string IdOf(string line) => line.Split("id=\"")[1].Split('"')[0];

    private static SetpointChanged Setpoint(int number, double value) => new()
    {
        Id = $"setpoint/{number}", Washer = "w1", At = TimeBounds.At(Instant.Parse("2031-03-05T08:00:00Z")), Setpoint = "setpoint.hold", Unit = "s", OldValue = 1, NewValue = value,
    };
}
