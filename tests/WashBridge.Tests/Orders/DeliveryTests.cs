using WashBridge.Commands;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Orders;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Orders;

public sealed class DeliveryTests : IDisposable
{
    private static readonly ToldMaintenance Work = new("north", "drain-valve@2", "replaced", "T. Ester");
    private static readonly KnownWasher[] Washers = [new("north", 2)];

    private readonly TemporaryFolder _folder = new();
    private readonly StringWriter _output = new();
    private readonly StringWriter _errors = new();
    private readonly SettableTime _time = new(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));

    private string Path => _folder["a.washdb"];

    public void Dispose()
    {
        _output.Dispose();
        _errors.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public async Task What_is_told_while_nobody_writes_is_written_directly()
    {
        Make();
        Assert.Equal(ExitCodes.Success, await Bring(Work));
        using var reader = HistorianFile.OpenReader(Path);
        var stored = Assert.IsType<MaintenanceRecorded>(Assert.Single(reader.ReadEvents(new EventQuery())));
        Assert.StartsWith($"recorded: {stored.Id}", _output.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task While_the_service_writes_it_says_how_to_reach_it()
    {
        using var writing = HistorianFile.Open(Path, new HistorianOptions(), _time);
        Assert.Equal(ExitCodes.StoreErrors, await Bring(Work));
        Assert.Contains("--service http://127.0.0.1:PORT", _errors.ToString(), StringComparison.Ordinal);
        Assert.Equal(0, writing.LastSequence);
    }

    [Fact]
    public async Task What_cannot_be_taken_is_told_and_nothing_is_written()
    {
        Make();
        Assert.Equal(ExitCodes.ConfigurationErrors, await Bring(Work with { Washer = "south" }));
        Assert.StartsWith("washer: found 'south'; there is north", _errors.ToString(), StringComparison.Ordinal);
        using var reader = HistorianFile.OpenReader(Path);
        Assert.Equal(0, reader.LastSequence);
    }

    [Fact]
    public async Task A_store_that_is_not_there_is_not_made()
    {
        Assert.Equal(ExitCodes.ConfigurationErrors, await Bring(Work));
        Assert.False(File.Exists(Path));
    }

    [Theory]
    [InlineData("http://127.0.0.1:9", ExitCodes.StoreErrors, "nobody answers")]
    [InlineData("http://192.0.2.1:8480", ExitCodes.ConfigurationErrors, "without TLS the service takes orders on its own machine only")]
    public async Task A_service_that_is_not_there_or_not_here_is_told(string service, int exit, string message)
    {
        Assert.Equal(exit, await Bring(Work, new Uri(service)));
        Assert.Contains(message, _errors.ToString(), StringComparison.Ordinal);
    }

    private void Make() => HistorianFile.Open(Path, new HistorianOptions(), _time).Dispose();

    private Task<int> Bring(ToldMaintenance told, Uri? service = null) =>
        new Delivery(new FileInfo(Path), service, _output, _errors).BringAsync(Endpoints.Maintenance, told, (_, now) => Telling.Maintenance(told, Washers, now, Teller.Command), _time, TestContext.Current.CancellationToken);
}
