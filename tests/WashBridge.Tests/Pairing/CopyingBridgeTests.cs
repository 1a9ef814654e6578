using System.Net;
using System.Net.Http.Json;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Configuration;
using WashBridge.Core.Records;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Orders;
using WashBridge.Pairing;
using WashBridge.Pipeline;
using WashBridge.Tests.Web;
using WashBridge.Web.Accounts;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Pairing;

/// <summary>What people and programs see of a bridge that copies another one.</summary>
public sealed class CopyingBridgeTests : IAsyncLifetime
{
    private static readonly Uri Partner = new("https://bridge-2.example:8480");

    private readonly TemporaryFolder _folder = new();
    private readonly FakeTimeProvider _time = new(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));
    private readonly ReadingRole _role = new(Partner);
    private HistorianFile _historian = null!;
    private IHost _host = null!;
    private HttpClient _client = null!;

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    public async ValueTask InitializeAsync()
    {
        var site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
        site = site with { Store = site.Store with { Path = _folder["copy.washdb"] }, Http = new HttpConfiguration(DemoPages.Choose(0)), Pair = new PairConfiguration(Partner) };
        _historian = HistorianFile.Open(site.Store.Path, new HistorianOptions(), _time);
        var signal = new HistorianSignal();
        var bridge = new Bridge(site, _historian, signal, [], _time, NullLoggerFactory.Instance, bootId: null, role: _role);
        _host = DemoPages.Make(site, _historian, signal, bridge, _time, services => services.AddSingleton(_role));
        await _host.StartAsync(Cancellation);
        _client = new HttpClient { BaseAddress = new Uri($"http://localhost:{site.Http.Port}") };
    }

    public async ValueTask DisposeAsync()
    {
        _client.Dispose();
        await _host.StopAsync(CancellationToken.None);
        _host.Dispose();
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public async Task What_is_told_is_refused_with_the_address_that_takes_it_until_this_one_reads()
    {
        Assert.Equal(HttpStatusCode.ServiceUnavailable, await _client.StatusAsync("/health/reading"));
        var (status, text) = await ScanAsync();
        Assert.Equal(HttpStatusCode.Conflict, status);
        Assert.Contains(Partner.ToString(), text);
        Assert.Contains($" href=\"{Partner}\">", await _client.GetStringAsync("/kegs", Cancellation));
        Assert.Empty(_historian.ReadEvents(new EventQuery()));

        _role.IsReading = true;
        Assert.Equal(HttpStatusCode.OK, await _client.StatusAsync("/health/reading"));
        Assert.Equal(HttpStatusCode.Created, (await ScanAsync()).Status);
        Assert.DoesNotContain(Partner.ToString(), await _client.GetStringAsync("/kegs", Cancellation));
    }

    [Fact]
    public void Changes_of_accounts_wait_so_that_the_copy_stays_one()
    {
        _host.Services.GetRequiredService<AccountBook>().Add(WebTrial.Tester, "Ines", Role.Operator, WebTrial.Password);
        var records = _host.Services.GetRequiredService<AccountRecords>();
        records.Catch();
        Assert.Empty(_historian.ReadEvents(new EventQuery()));

        _role.IsReading = true;
        records.Catch();
        Assert.Single(_historian.ReadEvents(new EventQuery()));
    }

    [Fact]
    public async Task It_tells_the_other_how_it_stands_and_its_log()
    {
        _historian.AppendFrames([StandbyTests.Frame(1, "north")]);
        var page = PairPage.Read(await _client.GetByteArrayAsync($"{PairEndpoint.Address}?after=0&most=10&wait=0", Cancellation));
        Assert.Equal(("millrace", false, 1L), (page.Site, page.Reads, page.Last));
        Assert.Equal(StandbyTests.Frame(1, "north").Read, Assert.Single(page.ToLog()).Frame!.Read);

        using var ready = await _client.GetAsync("/health/ready", Cancellation);
        Assert.Contains("this bridge copies the other; the other cannot be asked: it has not answered yet", await ready.Content.ReadAsStringAsync(Cancellation));
    }

    [Fact]
    public void A_command_does_not_write_past_the_service()
    {
        _historian.AppendEvents([], PairMemory.New().ToState(_historian));
        var refused = Assert.Throws<TellingException>(() => new RecordDesk(_historian, signal: null, _time).Take((_, _) => throw new InvalidOperationException()));
        Assert.Contains("one of a pair", refused.Message);
    }

    private async Task<(HttpStatusCode Status, string Text)> ScanAsync()
    {
        using var answer = await _client.PostAsJsonAsync("/scans", new { washer = "north", station = 1, keg = "K-1" }, Cancellation);
        return (answer.StatusCode, await answer.Content.ReadAsStringAsync(Cancellation));
    }
}
