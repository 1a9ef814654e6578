using CsCheck;
using WashBridge.Polling;

namespace WashBridge.Tests.Polling;

public sealed class PollScheduleTests
{
    private const long Second = 1_000;

    [Fact]
    public void A_late_poll_does_not_move_the_ones_after_it()
    {
        var schedule = new PollSchedule(TimeSpan.FromMilliseconds(100), 5000, Second);
        var due = new List<long>();
        for (var i = 0; i < 5; i++)
        {
            due.Add(schedule.Due);
            Assert.Equal(0, schedule.Advance(schedule.Due + 60));
        }

        Assert.Equal([5000, 5100, 5200, 5300, 5400], due);
    }

    [Fact]
    public void An_interval_that_is_no_whole_number_of_stamps_does_not_drift()
    {
        var interval = TimeSpan.FromMilliseconds(1000.0 / 3);
        var schedule = new PollSchedule(interval, 0, Second);
        for (var i = 0; i < 3_000_000; i++)
        {
            schedule.Advance(schedule.Due);
        }

        Assert.InRange((double)schedule.Due, (3_000_000 * interval.TotalSeconds * Second) - 1, (3_000_000 * interval.TotalSeconds * Second) + 1);
    }

    [Fact]
    public void Slots_that_pass_during_a_poll_are_counted_and_not_queued_up()
    {
        var schedule = new PollSchedule(TimeSpan.FromMilliseconds(100), 0, Second);

        Assert.Equal(3, schedule.Advance(420));

        Assert.Equal(400, schedule.Due);
        Assert.Equal(3, schedule.Overruns);
        Assert.Equal(0, schedule.Advance(430));
        Assert.Equal(500, schedule.Due);
    }

    [Fact]
    public void Every_slot_is_either_polled_or_counted() => Gen.Int[0, 700].Array[1, 200].Sample(lateness =>
    {
        var schedule = new PollSchedule(TimeSpan.FromMilliseconds(100), 0, Second);
        foreach (var late in lateness)
        {
            schedule.Advance(schedule.Due + late);
        }

        Assert.Equal(schedule.Due / 100, lateness.Length + schedule.Overruns);
    });
}
