using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Orders;
using WashBridge.Pipeline;
using WashBridge.Scans;

namespace WashBridge.Tests.Scans;

public sealed class ScanEndpointTests
{
    private static readonly Site Site = new()
    {
        Id = "site",
        Title = "Site",
        Zone = TimeZoneInfo.Utc,
        Store = new StoreConfiguration { Path = "unused" },
        OpcUa = new OpcUaConfiguration { Pki = "unused", ApplicationUri = "urn:unused" },
        Washers =
        [
            new WasherConfiguration
            {
                Model = new WasherModel { Washer = "w1", Stations = 2, Programme = [], Sequence = new StepRules([]), Signals = [] },
                Connection = new ModbusConnection { Host = "localhost" },
                Groups = [],
                Tags = [],
                Recipe = new Recipe { Id = "r", Version = 1, Requirements = [] },
            },
        ],
    };

    [Theory]
    [InlineData("w2", 1, "K-1", "washer: found w2; this site has w1")]
    [InlineData(null, 1, "K-1", "washer: found nothing; this site has w1")]
    [InlineData("w1", 0, "K-1", "station: found 0; w1 has 1 to 2")]
    [InlineData("w1", 3, "K-1", "station: found 3; w1 has 1 to 2")]
    [InlineData("w1", null, "K-1", "station: found nothing; w1 has 1 to 2")]
    [InlineData("w1", 1, " ", "keg: needs 1 to 64 characters without control characters")]
    [InlineData("w1", 1, "K\u0007", "keg: needs 1 to 64 characters without control characters")]
    public void A_scan_that_names_nothing_the_site_has_is_refused_with_the_reason(string? washer, int? station, string? keg, string problem) =>
        Assert.Equal(problem, ScanEndpoint.Problem(new Scan(washer, station, keg), Site));

    [Fact]
    public void A_good_scan_is_committed_before_it_is_answered_and_wakes_followers()
    {
        using var folder = new TemporaryFolder();
        var time = new SettableTime(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));
        using var historian = Historian.Historian.Open(folder["a.washdb"], new HistorianOptions(), time);
        var signal = new HistorianSignal();
        var scan = new Scan("w1", 2, " K-42 ");

        Assert.Null(ScanEndpoint.Problem(scan, Site));
        new RecordDesk(historian, signal, time).Take((_, now) => ScanEndpoint.Made(scan, now, new Teller(Means.Api)));

        var stored = Assert.IsType<KegScanned>(Assert.Single(historian.ReadEvents(new EventQuery())));
        Assert.Equal((2, "K-42"), (stored.Station, stored.KegId));
        Assert.Equal(("", Means.Scanner, Instant.Parse("2031-03-05T06:00:00Z")), (stored.Act.By, stored.Act.Means, stored.Act.Entered));
        Assert.Equal(historian.LastSequence, signal.Last);
    }
}
