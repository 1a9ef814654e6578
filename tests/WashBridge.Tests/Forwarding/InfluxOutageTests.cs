using System.Net;
using Microsoft.Extensions.Logging;
using WashBridge.Forwarding;

namespace WashBridge.Tests.Forwarding;

/// <summary>A server that is not well: nothing is lost, the cursor stays, and the condition can be seen.</summary>
public sealed class InfluxOutageTests
{
    private static readonly InfluxFollowerOptions Options = new() { Gather = TimeSpan.Zero, Jitter = () => 0.5 };

    public static TheoryData<string, int> Answers => new()
    {
        { "unreachable", (int)InfluxFailure.Unreachable },
        { "401", (int)InfluxFailure.Unauthorised },
        { "403", (int)InfluxFailure.Unauthorised },
        { "404", (int)InfluxFailure.NotFound },
        { "429", (int)InfluxFailure.Busy },
        { "500", (int)InfluxFailure.ServerError },
        { "503", (int)InfluxFailure.Busy },
        { "504", (int)InfluxFailure.TimedOut },
        { "200 page", (int)InfluxFailure.Unexpected },
        { "302", (int)InfluxFailure.Unexpected },
        { "400 page", (int)InfluxFailure.Unexpected },
        { "broken off", (int)InfluxFailure.Unreachable },
    };

    [Theory]
    [MemberData(nameof(Answers))]
    public async Task A_failure_is_shown_and_tried_again_until_the_server_takes_the_lines(string answer, int failure)
    {
        await using var following = new Following { Options = Options };
        following.Influx.AnswerWith(() => Give(answer), () => Give(answer));
        following.Add(InfluxFollowerTests.Scan(1));
        following.Start();
        await following.PassWaitAsync();
        var condition = following.Status.Condition;
        var wait = await following.Time.NextWaitAsync(Options.RequestTimeout);
        Assert.Equal((InfluxFailure)failure, condition!.Failure);
        Assert.Equal(new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero), condition.Since);
        Assert.Equal(2, following.Status.Condition!.Attempts);
        Assert.Equal(condition.Since, following.Status.Condition.Since);
        Assert.Equal(1, following.Status.Backlog);
        Assert.Empty(following.Historian.Moves);

        following.Time.Advance(wait);
        await following.Influx.NextAsync();
        following.Add(InfluxFollowerTests.Scan(2));
        await NextAcceptedAsync(following, 2);
        Assert.Null(following.Status.Condition);
        Assert.Equal(["scan/1", "scan/2"], following.Influx.Accepted.Select(InfluxFollowerTests.IdOf));
        Assert.Empty(following.SetAside());
        Assert.Equal(1, following.Log.Count(3102) + following.Log.Count(3103));
        Assert.Equal(1, following.Log.Count(3109));
        Assert.Equal(1, following.Log.Count(3104));
    }

    [Theory]
    [InlineData("401", true)]
    [InlineData("404", true)]
    [InlineData("500", true)]
    [InlineData("302", true)]
    [InlineData("503", false)]
    [InlineData("unreachable", false)]
    public async Task What_needs_a_person_is_an_error_and_what_passes_by_itself_a_warning(string answer, bool needsAction)
    {
        await using var following = new Following { Options = Options };
        following.Influx.AnswerWith(() => Give(answer));
        following.Add(InfluxFollowerTests.Scan(1));
        following.Start();
        await following.Time.NextWaitAsync(Options.RequestTimeout);
        Assert.Equal(needsAction, following.Status.Condition!.NeedsAction);
        var entry = Assert.Single(following.Log.Entries, e => e.Id is 3102 or 3103);
        Assert.Equal(needsAction ? LogLevel.Error : LogLevel.Warning, entry.Level);
    }

    [Fact]
    public async Task A_slow_server_is_given_up_after_the_time_limit_and_asked_again()
    {
        await using var following = new Following { Options = Options };
        var attempts = 0;
        following.Influx.Answer = async (_, stop) =>
        {
            if (++attempts == 1)
            {
                await Task.Delay(Timeout.InfiniteTimeSpan, following.Time, stop);
            }

            return FakeInflux.NoContent();
        };
        following.Add(InfluxFollowerTests.Scan(1));
        following.Start();
        Assert.Equal(Options.RequestTimeout, await following.Time.PassNextWaitAsync(except: TimeSpan.Zero));
        var wait = await following.Time.NextWaitAsync(Options.RequestTimeout);
        Assert.Equal(InfluxFailure.TimedOut, following.Status.Condition!.Failure);
        Assert.Equal("no answer within 30 s", following.Status.Condition.Reason);
        following.Time.Advance(wait);
        await following.Influx.NextAsync();
        Assert.Single(following.Influx.Accepted);
    }

    [Theory]
    [InlineData("7", 7)]
    [InlineData("1.5", 1.5)]
    [InlineData("Wed, 05 Mar 2031 08:00:42 GMT", 42)]
    [InlineData("99999999", 600)]
    [InlineData("Fri, 05 Mar 2032 08:00:42 GMT", 600)]
    public async Task A_server_that_asks_to_be_left_alone_is(string retryAfter, double seconds)
    {
        await using var following = new Following { Options = Options };
        following.Influx.AnswerWith(() => FakeInflux.Say(HttpStatusCode.TooManyRequests, "", ("Retry-After", retryAfter)));
        following.Add(InfluxFollowerTests.Scan(1));
        following.Start();
        Assert.Equal(TimeSpan.FromSeconds(seconds), await following.PassWaitAsync());
        await following.Influx.NextAsync();
        await NextAcceptedAsync(following, 1);
    }

    [Theory]
    [InlineData("soon")]
    [InlineData("-5")]
    [InlineData("")]
    public async Task A_wish_that_cannot_be_read_is_none(string retryAfter)
    {
        await using var following = new Following { Options = Options };
        following.Influx.AnswerWith(() => FakeInflux.Say(HttpStatusCode.ServiceUnavailable, "", ("Retry-After", retryAfter)));
        following.Add(InfluxFollowerTests.Scan(1));
        following.Start();
        Assert.InRange(await following.PassWaitAsync(), TimeSpan.FromMilliseconds(1), TimeSpan.FromSeconds(4));
        await NextAcceptedAsync(following, 1);
    }

    [Fact]
    public async Task Waits_grow_and_stay_within_their_bound()
    {
        await using var following = new Following { Options = Options };
        following.Influx.Answer = (_, _) => throw new HttpRequestException("refused");
        following.Add(InfluxFollowerTests.Scan(1));
        following.Start();
        var waits = new List<TimeSpan>();
        for (var i = 0; i < 100; i++)
        {
            waits.Add(await following.PassWaitAsync());
        }

        Assert.InRange(waits[0], TimeSpan.FromMilliseconds(1), TimeSpan.FromSeconds(4));
        Assert.True(waits[4] > waits[0]);
        Assert.All(waits, w => Assert.InRange(w, TimeSpan.FromMilliseconds(1), Options.LongestDelay));
        Assert.All(waits[20..], w => Assert.Equal(Options.LongestDelay, w));
    }

    [Fact]
    public async Task An_outage_is_a_longer_read()
    {
        await using var following = new Following { Options = Options };
        following.Influx.AnswerWith(() => Give("unreachable"));
        following.Add(InfluxFollowerTests.Scan(1));
        following.Start();
        var wait = await following.Time.NextWaitAsync(Options.RequestTimeout);
        following.Add([.. Enumerable.Range(2, 200).Select(InfluxFollowerTests.Scan)]);
        Assert.Equal(201, following.Status.Backlog);
        following.Time.Advance(wait);
        await NextAcceptedAsync(following, 201);
        Assert.Equal(Enumerable.Range(1, 201).Select(i => $"scan/{i}"), following.Influx.Accepted.Select(InfluxFollowerTests.IdOf));
    }

    /// <summary>The server took the lines, but its answer was lost: they are sent again, and are the same to the byte.</summary>
    [Fact]
    public async Task Lines_that_are_sent_again_are_the_same_to_the_byte()
    {
        await using var following = new Following { Options = Options };
        following.Influx.AnswerWith(() => throw new HttpRequestException("connection reset"));
        following.Add([.. new WashDay(3).Events(300)]);
        following.Start();
        await following.PassWaitAsync();
        await following.Influx.NextAsync();
        Assert.Equal(2, following.Influx.All.Count);
        Assert.Equal(following.Influx.All[0].Lines, following.Influx.All[1].Lines);
    }

    private static async Task NextAcceptedAsync(Following following, int count)
    {
        while (following.Influx.Accepted.Count < count)
        {
            await following.Influx.NextAsync();
        }
    }

    private static HttpResponseMessage Give(string answer) => answer switch
    {
        "unreachable" => throw new HttpRequestException("connection refused"),
        "broken off" => throw new IOException("the response ended prematurely"),
        "200 page" => FakeInflux.Say(HttpStatusCode.OK, "<html>Welcome</html>"),
        "302" => FakeInflux.Say(HttpStatusCode.Found, "", ("Location", "http://elsewhere.example/")),
        "400 page" => FakeInflux.Say(HttpStatusCode.BadRequest, "<html>The plain HTTP request was sent to HTTPS port</html>"),
        _ => FakeInflux.Say((HttpStatusCode)int.Parse(answer), """{"error":"in words"}"""),
    };
}
