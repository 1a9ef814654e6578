using WashBridge.Core.Cycles;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

public sealed class InterruptTests
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(1)).Token;

    [Fact]
    public async Task An_interrupt_in_mid_cycle_ends_the_demo_cleanly_with_all_that_was_read()
    {
        using var folder = new TemporaryFolder();
        await using var demo = ProgramProcess.Start("demo", "--speed", "10", "--store", folder["demo.washdb"]);
        await demo.SeeAsync("cycle starts", Deadline);

        demo.Interrupt();
        var (exit, output, errors) = await demo.EndAsync(Deadline);

        Assert.Equal((0, ""), (exit, errors));
        Assert.Contains("See it again: washbridge report", output);
        using var historian = HistorianFile.OpenReader(folder["demo.washdb"]);
        Assert.NotEmpty(historian.ReadEvents(new EventQuery { Kinds = ["cycle-started"] }).OfType<CycleStarted>());
    }

    [Fact]
    public async Task The_demo_runs_at_its_highest_speed_and_ends_by_itself()
    {
        using var folder = new TemporaryFolder();
        var (exit, output, errors) = await ProgramProcess.RunAsync(
            new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token, "demo", "--speed", "60", "--minutes", "3", "--history", "0", "--port", "0", "--store", folder["demo.washdb"]);

        Assert.Equal((0, ""), (exit, errors));
        Assert.Contains("See it again: washbridge report", output);
        using var historian = HistorianFile.OpenReader(folder["demo.washdb"]);
        Assert.Equal(["north", "yard"], historian.Signals.Select(s => s.Washer).Distinct().Order());
    }

    [Theory]
    [InlineData("demo", "--speed", "1000")]
    [InlineData("report", "no-such-file.washdb")]
    [InlineData("no-such-command")]
    public async Task Wrong_use_is_told_by_the_exit_code_and_a_message(params string[] arguments)
    {
        var (exit, _, errors) = await ProgramProcess.RunAsync(Deadline, arguments);

        Assert.Equal(1, exit);
        Assert.NotEmpty(errors);
    }
}
