using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Polling;

namespace WashBridge.Tests.Pipeline;

public sealed class ClockKeeperTests : IDisposable
{
    private static readonly DateTimeOffset Start = new(2031, 3, 5, 6, 0, 0, TimeSpan.Zero);
    private readonly TemporaryFolder _folder = new();
    private readonly SettableTime _time = new(Start);
    private readonly IHistorian _historian;

    public ClockKeeperTests() => _historian = Historian.Historian.Open(_folder["a.washdb"], new HistorianOptions(), _time);

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    private ClockAnchor Now() => new SteadyClock(_time).Current();

    [Fact]
    public void A_first_start_knows_nothing_of_before() => Assert.Null(new ClockKeeper(_historian, "boot-1").SinceLastRun(Now()).Shift);

    [Fact]
    public void A_restart_on_the_same_boot_knows_that_the_clock_was_left_alone()
    {
        new ClockKeeper(_historian, "boot-1").Save(Now());
        _time.Advance(TimeSpan.FromHours(2));

        Assert.Equal(TimeSpan.Zero, new ClockKeeper(_historian, "boot-1").SinceLastRun(Now()).Shift);
    }

    [Fact]
    public void A_restart_on_the_same_boot_knows_how_far_the_clock_was_set_meanwhile()
    {
        new ClockKeeper(_historian, "boot-1").Save(Now());
        _time.Advance(TimeSpan.FromHours(2));
        _time.SetWallClockBy(TimeSpan.FromSeconds(-90));

        Assert.Equal(TimeSpan.FromSeconds(-90), new ClockKeeper(_historian, "boot-1").SinceLastRun(Now()).Shift);
    }

    [Theory]
    [InlineData("boot-2")]
    [InlineData(null)]
    public void After_a_reboot_or_where_boots_cannot_be_told_apart_the_shift_is_unknown(string? boot)
    {
        new ClockKeeper(_historian, "boot-1").Save(Now());

        Assert.Null(new ClockKeeper(_historian, boot).SinceLastRun(Now()).Shift);
    }
}
