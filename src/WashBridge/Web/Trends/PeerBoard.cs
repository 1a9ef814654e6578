using WashBridge.Analysing;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Reporting;

namespace WashBridge.Web.Trends;

/// <param name="Report">Of all washers; null: there is nobody to compare.</param>
/// <param name="At">As of when.</param>
internal sealed record PeerComparisonMade(PeerReport? Report, Instant At);

/// <summary>How washers and stations stand beside their peers. Thousands of cycles are read for it, so that it is worked out aside, and for all readers of some minutes together.</summary>
internal sealed class PeerBoard(IHistorian historian, TimeProvider time)
{
    private static readonly TimeSpan Holds = TimeSpan.FromMinutes(10);
    private static readonly TimeSpan LookBack = TimeSpan.FromDays(90);
    private static readonly TimeSpan Patience = TimeSpan.FromMilliseconds(500);

    private readonly Lock _gate = new();
    private Task<PeerComparisonMade>? _running;
    private PeerComparisonMade? _last;

    /// <summary>The last one; null where the first is still being worked out.</summary>
    public async Task<PeerComparisonMade?> LatestAsync()
    {
        var now = Instant.Floor(time.GetUtcNow());
        Task<PeerComparisonMade> running;
        lock (_gate)
        {
            if (_running is { IsCompletedSuccessfully: true } done)
            {
                _last = done.Result;
            }

            if (_last is { } last && now - last.At < Holds)
            {
                return last;
            }

            if (_running is null or { IsCompleted: true })
            {
                _running = Task.Run(() => new PeerComparisonMade(PeerReport.Of(PeerCycles.Read(historian, now - LookBack, now), null), now));
            }

            running = _running;
        }

        await Task.WhenAny(running, Task.Delay(Patience, TimeProvider.System));
        return running.IsCompletedSuccessfully ? running.Result : _last;
    }
}
