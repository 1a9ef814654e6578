using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Web.Pages.Kegs;

namespace WashBridge.Tests.Web.Kegs;

/// <summary>Releasing many kegs takes time: how far it is, and what came of it.</summary>
public sealed class ReleaseRunTests
{
    private static readonly IReadOnlyList<(string, string)> Three = [("K-1", "v1"), ("K-2", "v2"), ("K-3", "v3")];

    [Fact]
    public async Task Nobody_waits_longer_than_the_patience_and_the_kegs_are_released_all_the_same()
    {
        var time = new FakeTimeProvider();
        using var runs = new ReleaseRuns(time);
        using var gate = new ManualResetEventSlim();
        var run = runs.Start(Three, (keg, _) => Pass(gate, keg == "K-2" ? "it was washed again" : null));
        var waiting = runs.WaitAsync(run);
        Assert.False(waiting.IsCompleted);
        time.Advance(ReleaseRuns.Patience);
        await waiting;
        Assert.Null(run.Result);
        Assert.Same(run, runs.Find(run.Number));

        gate.Set();
        await run.Ended;
        Assert.Equal(2, run.Result!.Released);
        Assert.Equal([("K-2", "it was washed again")], run.Result.Left);
        Assert.Equal(3, run.Done);
    }

    [Fact]
    public async Task What_the_service_did_not_come_to_before_it_was_stopped_is_said_keg_by_keg()
    {
        using var runs = new ReleaseRuns(new FakeTimeProvider());
        using var gate = new ManualResetEventSlim();
        using var begun = new SemaphoreSlim(0);
        var run = runs.Start(Three, (_, _) =>
        {
            begun.Release();
            return Pass(gate, null);
        });
        await begun.WaitAsync(WebTrial.Cancellation);
        var stopping = runs.StopAsync(WebTrial.Cancellation);
        Assert.False(stopping.IsCompleted);
        gate.Set();
        await stopping;
        Assert.Equal(1, run.Result!.Released);
        Assert.Equal(["K-2", "K-3"], run.Result.Left.Select(l => l.Keg));
        Assert.All(run.Result.Left, l => Assert.Contains("stopped", l.Reason));
    }

    [Fact]
    public async Task The_page_shows_how_far_a_release_is_then_what_came_of_it_and_says_when_it_is_known_no_more()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var gate = new ManualResetEventSlim();
        var run = trial.Services.GetRequiredService<ReleaseRuns>().Start(Three, (_, _) => Pass(gate, null));

        var page = await client.GetStringAsync("/kegs/release?run=1", WebTrial.Cancellation);
        Assert.Contains("0 of 3 kegs are done.", page);
        Assert.Contains("<progress max=\"3\" value=\"0\"", page);
        Assert.Contains("data-live-part=\"always\"", page);

        gate.Set();
        await run.Ended;
        page = await client.GetStringAsync("/kegs/release?run=1", WebTrial.Cancellation);
        Assert.Contains("3 kegs were released.", page);
        Assert.DoesNotContain("data-live-part", page);
        Assert.Contains("known no more", await client.GetStringAsync("/kegs/release?run=7", WebTrial.Cancellation));
    }

    private static string? Pass(ManualResetEventSlim gate, string? reason)
    {
        gate.Wait(WebTrial.Cancellation);
        return reason;
    }
}
