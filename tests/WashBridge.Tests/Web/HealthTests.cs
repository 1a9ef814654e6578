using System.Net;
using System.Text.Json;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Configuration;
using WashBridge.Core.Records;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Pipeline;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Web;

public sealed class HealthTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly FakeTimeProvider _time = new(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));

    private readonly CancellationTokenSource _deadline = new(TimeSpan.FromMinutes(2));

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    public void Dispose()
    {
        _deadline.Dispose();
        _folder.Dispose();
    }

    /// <summary>A bridge that writes for the first time while another program holds a lock on the file, and then can; its washer is not there.</summary>
    [Fact]
    public async Task The_service_is_ready_once_it_runs_and_not_while_the_historian_cannot_be_written()
    {
        var site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
        var washer = site.Washers.First(w => w.Connection is ModbusConnection);
        site = site with
        {
            Store = site.Store with { Path = _folder["health.washdb"] },
            Http = new HttpConfiguration(DemoPages.Choose(0)) { Rates = new RequestRates(100_000, 100_000, 100_000) },

            // Nobody listens on the port that discards (RFC 863).
            Washers = [washer with { Connection = new ModbusConnection { Host = "127.0.0.1", Port = 9 } }],
        };
        using var historian = HistorianFile.Open(site.Store.Path, new HistorianOptions { LockTimeout = TimeSpan.Zero }, _time);
        var signal = new HistorianSignal();
        var bridge = new Bridge(site, historian, signal, [], _time, NullLoggerFactory.Instance, bootId: null);
        using var host = DemoPages.Make(site, historian, signal, bridge, _time);
        await host.StartAsync(Cancellation);
        using var client = new HttpClient { BaseAddress = new Uri($"http://localhost:{site.Http.Port}") };

        Assert.Equal((HttpStatusCode.ServiceUnavailable, "the bridge has not begun to read, or has ended"), await HistorianAsync(client));
        Assert.Equal(HttpStatusCode.OK, await client.StatusAsync("/health/live"));

        await using var other = new SqliteConnection($"Data Source={site.Store.Path};Pooling=False");
        await other.OpenAsync(Cancellation);
        var held = other.BeginTransaction(deferred: false);
        using var stop = CancellationTokenSource.CreateLinkedTokenSource(Cancellation);
        var running = bridge.RunAsync(stop.Token);
        await UntilAsync(client, HttpStatusCode.ServiceUnavailable, "frames cannot be committed");
        Assert.Equal(HttpStatusCode.OK, await client.StatusAsync("/health/live"));

        await held.DisposeAsync();
        await UntilAsync(client, HttpStatusCode.OK, "");
        var (status, parts) = await ReadyAsync(client);
        Assert.Equal("Degraded", status);
        Assert.Equal("Degraded", parts[$"washer/{washer.Model.Washer}"].Status);

        await stop.CancelAsync();
        while (!running.IsCompleted)
        {
            _deadline.Token.ThrowIfCancellationRequested();
            _time.Advance(TimeSpan.FromSeconds(1));
            await client.StatusAsync("/health/live");
        }

        await running;
        Assert.Equal((HttpStatusCode.ServiceUnavailable, "the bridge has not begun to read, or has ended"), await HistorianAsync(client));
        await host.StopAsync(CancellationToken.None);
    }

    [Fact]
    public async Task Where_a_login_is_asked_for_anybody_learns_that_it_lives_and_a_viewers_token_more()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var stranger = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false }) { BaseAddress = trial.Address };
        Assert.Equal("Healthy", await stranger.GetStringAsync("/health/live", Cancellation));
        Assert.Equal(HttpStatusCode.Unauthorized, await stranger.StatusAsync("/health/ready"));
        Assert.Equal(HttpStatusCode.Unauthorized, await stranger.StatusAsync("/metrics"));

        using var viewer = trial.Program(Role.Viewer);
        Assert.Equal(HttpStatusCode.ServiceUnavailable, await viewer.StatusAsync("/health/ready"));
        Assert.Contains("# TYPE washbridge_historian_entries_total counter\n", await viewer.GetStringAsync("/metrics", Cancellation), StringComparison.Ordinal);
    }

    /// <summary>Time goes on by a second a look, so that what waits for its next attempt makes it.</summary>
    private async Task UntilAsync(HttpClient client, HttpStatusCode code, string reason)
    {
        for (var found = (Code: HttpStatusCode.Unused, Description: ""); found.Code != code || !found.Description.StartsWith(reason, StringComparison.Ordinal); found = await HistorianAsync(client))
        {
            Assert.False(_deadline.IsCancellationRequested, $"not {code} {reason} but {found}");
            _time.Advance(TimeSpan.FromSeconds(1));
        }
    }

    private static async Task<(HttpStatusCode Code, string Description)> HistorianAsync(HttpClient client)
    {
        using var answer = await client.GetAsync("/health/ready", Cancellation);
        return (answer.StatusCode, Parts(await answer.Content.ReadAsStringAsync(Cancellation)).Parts["historian"].Description);
    }

    private static async Task<(string Status, Dictionary<string, (string Status, string Description)> Parts)> ReadyAsync(HttpClient client)
    {
        using var answer = await client.GetAsync("/health/ready", Cancellation);
        return Parts(await answer.Content.ReadAsStringAsync(Cancellation));
    }

    private static (string Status, Dictionary<string, (string Status, string Description)> Parts) Parts(string json)
    {
        using var document = JsonDocument.Parse(json);
        return (
            document.RootElement.GetProperty("status").GetString()!,
            document.RootElement.GetProperty("checks").EnumerateArray().ToDictionary(c => c.GetProperty("name").GetString()!, c => (c.GetProperty("status").GetString()!, c.GetProperty("description").GetString()!)));
    }
}
