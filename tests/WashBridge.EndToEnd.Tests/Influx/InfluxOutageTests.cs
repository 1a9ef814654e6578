using WashBridge.Benchmarks.Influx;
using WashBridge.Forwarding;
using WashBridge.Tests.Forwarding;

namespace WashBridge.EndToEnd.Tests.Influx;

/// <summary>A real server that is killed, and followers that die: none missing, none twice.</summary>
public sealed class InfluxOutageTests
{
    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Nothing_is_missing_and_nothing_twice_when_the_server_is_killed_again_and_again()
    {
        await using var plant = await Plant.StartAsync();
        var events = new WashDay(21, stations: 4).Events(20_000);
        plant.Add(events);
        using var transport = new KillingTransport(plant.Server, every: 8);
        var status = await plant.ForwardAllAsync(plant.Native(), transport, Options(maxLines: 500));
        Assert.InRange(transport.Kills, 4, 1000);
        Assert.Equal(0, status.LinesSetAside);
        await plant.AssertHoldsAsync(events);
    }

    /// <summary>The server has taken the lines and said so, and the follower dies before its cursor has moved: the next one sends them again.</summary>
    [Fact]
    public async Task Nothing_is_missing_and_nothing_twice_when_the_follower_dies_between_the_answer_and_the_cursor()
    {
        await using var plant = await Plant.StartAsync();
        var events = new WashDay(22).Events(10_000);
        plant.Add(events);
        var (moves, deaths) = (0, 0);
        plant.Historian.BeforeMove = _ =>
        {
            if (++moves % 4 == 0)
            {
                deaths++;
                throw new FollowerDiedException();
            }
        };

        while (true)
        {
            try
            {
                await plant.ForwardAllAsync(plant.Native(), options: Options(maxLines: 500));
                break;
            }
            catch (FollowerDiedException)
            {
                // The next follower goes on from the cursor, as after a restart of the service.
            }
        }

        Assert.InRange(deaths, 4, 1000);
        await plant.AssertHoldsAsync(events);
    }

    [Fact]
    public async Task A_follower_that_is_stopped_in_mid_request_is_followed_by_one_that_sends_it_again()
    {
        await using var plant = await Plant.StartAsync();
        var events = new WashDay(23).Events(10_000);
        plant.Add(events);
        for (var run = 0; run < 6; run++)
        {
            using var stop = new CancellationTokenSource();
            using var transport = new StoppingTransport(stop, after: 3);
            using var follower = plant.NewFollower(plant.Native(), transport, Options(maxLines: 500));
            await follower.RunAsync(stop.Token);
        }

        var cursor = plant.Historian.ReadFollower("influx/plant")!.Sequence;
        Assert.InRange(cursor, 1, events.Count - 1);
        await plant.ForwardAllAsync(plant.Native());
        await plant.AssertHoldsAsync(events);
    }

    [Theory]
    [InlineData("nowhere", null, "bridge", (int)InfluxFailure.NotFound)]
    [InlineData(Plant.Database, "unknown", "bridge", (int)InfluxFailure.ServerError)]
    [InlineData(Plant.Database, null, "wrong", (int)InfluxFailure.Unauthorised)]
    public async Task What_is_configured_wrongly_is_shown_and_delivered_once_it_is_put_right(string database, string? policy, string password, int failure)
    {
        await using var plant = await Plant.StartAsync(authentication: true);
        await plant.Server.QueryAsync("CREATE USER bridge WITH PASSWORD 'bridge' WITH ALL PRIVILEGES", Stop);
        plant.Add(new WashDay(24).Events(500));
        var failed = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        var waits = 0;
        var options = Options(maxLines: 5000) with
        {
            // Asked for before every wait, so by then the condition of the attempt before is there to see.
            Jitter = () =>
            {
                if (++waits == 4)
                {
                    failed.SetResult();
                }

                return 0.5;
            },
        };
        using var follower = plant.NewFollower(plant.Native() with { Bucket = database, RetentionPolicy = policy, User = "bridge", Secret = password }, options: options);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(Stop);
        var running = follower.RunAsync(stop.Token);
        await failed.Task.WaitAsync(Stop);
        var condition = follower.Status.Condition!;
        Assert.Equal((InfluxFailure)failure, condition.Failure);
        Assert.True(condition.NeedsAction);
        Assert.Equal(0, follower.Status.Cursor);

        await plant.Server.QueryAsync("CREATE DATABASE nowhere", Stop);
        await plant.Server.QueryAsync($"CREATE RETENTION POLICY unknown ON {Plant.Database} DURATION INF REPLICATION 1", Stop);
        await plant.Server.QueryAsync("SET PASSWORD FOR bridge = 'wrong'", Stop);
        if (password == "bridge")
        {
            await plant.Server.QueryAsync("SET PASSWORD FOR bridge = 'bridge'", Stop);
        }

        await plant.Historian.MovedToAsync(follower.Name, plant.Historian.LastSequence, Stop);
        await stop.CancelAsync();
        await running;
        Assert.Null(follower.Status.Condition);
        var rows = await plant.Server.RowsAsync(database, $"SELECT count(id) FROM {(policy is null ? "" : policy + ".")}wash_step", Stop);
        Assert.InRange(rows[0]["count"].GetInt64(), 1, 500);
    }

    private static InfluxFollowerOptions Options(int maxLines) => new()
    {
        MaxLines = maxLines,
        Gather = TimeSpan.Zero,
        FirstDelay = TimeSpan.FromMilliseconds(20),
        LongestDelay = TimeSpan.FromMilliseconds(200),
    };

    private sealed class FollowerDiedException : Exception;

    /// <summary>
    /// Kills the server around every few requests: before it, while it is under way, and after its answer, which is then lost; the server comes
    /// back for the next.
    /// </summary>
    private sealed class KillingTransport(InfluxServer server, int every) : DelegatingHandler(new SocketsHttpHandler())
    {
        private int _requests;

        public int Kills { get; private set; }

        protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
        {
            if (++_requests % every != 0)
            {
                return await base.SendAsync(request, cancellationToken);
            }

            var when = Kills++ % 3;
            if (when == 0)
            {
                await server.KillAsync();
            }

            var answer = base.SendAsync(request, cancellationToken);
            if (when == 2)
            {
                (await answer).Dispose();
            }

            await server.KillAsync();
            try
            {
                using var response = await answer;
            }
            catch (HttpRequestException)
            {
                // As wanted.
            }

            await server.StartAgainAsync(cancellationToken);
            throw new HttpRequestException("the server was killed");
        }
    }

    /// <summary>Stops the follower while a request is with the server.</summary>
    private sealed class StoppingTransport(CancellationTokenSource stop, int after) : DelegatingHandler(new SocketsHttpHandler())
    {
        private int _requests;

        protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
        {
            var answer = base.SendAsync(request, cancellationToken);
            if (++_requests == after)
            {
                await stop.CancelAsync();
            }

            return await answer;
        }
    }
}
