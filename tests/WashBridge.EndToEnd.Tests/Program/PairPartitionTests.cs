using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Demo;
using WashBridge.Historian;
using WashBridge.Pairing;
using WashBridge.Pipeline;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Hosting;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>Two bridges of one pair lose sight of each other, while both go on reading, and find each other again.</summary>
public sealed class PairPartitionTests
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(3)).Token;

    [Fact]
    public async Task Both_read_while_they_do_not_hear_each_other_then_one_gives_way_and_no_log_has_a_washing_twice()
    {
        using var folder = new TemporaryFolder();
        await using var host = await SimulationHost.StartAsync([.. DemoScenario.Washers.Select(w => (new SimulatedWasher(w.Options with { Faults = [] }), 0))], new ScaledTime(20, TimeProvider.System.GetUtcNow()));
        var site = ConfigurationLoader.Load(DemoSite.Write(folder, host)).Site!;
        var cable = new Cable();
        await using var first = new Side(site, folder["first.washdb"], isFirst: true, cable);
        await using var second = new Side(site, folder["second.washdb"], isFirst: false, cable);
        (cable.First, cable.Second) = (first, second);
        first.Start();
        second.Start();

        await second.CyclesAsync(1, Deadline);
        Assert.Equal((true, false), (first.Role.IsReading, second.Role.IsReading));
        cable.IsCut = true;
        await second.UntilAsync(() => second.Role.IsReading, Deadline);
        await second.CyclesAsync(second.Cycles.Count + 3, Deadline);
        cable.IsCut = false;
        await second.UntilAsync(() => !second.Role.IsReading, Deadline);
        Assert.True(first.Role.IsReading);
        var healed = first.Cycles.Count;
        await second.UntilAsync(() => first.Cycles.Count >= healed + 4, Deadline);
        await second.StopAsync();
        await first.StopAsync();

        foreach (var side in new[] { first, second })
        {
            Assert.All(side.Cycles.GroupBy(c => c.Washer), w => Assert.Distinct(w.Select(c => c.Cycle.CycleCount!.Value)));
        }

        // After the healing they have the same again; what was under way then is each one's own.
        var after = first.Cycles.Skip(healed + 2).Select(c => c.Id).ToHashSet();
        Assert.NotEmpty(after.Intersect(second.Cycles.Select(c => c.Id)));
        Assert.Empty(second.Cycles.TakeLast(1).Select(c => c.Id).Except(first.Cycles.Select(c => c.Id)));
    }

    /// <summary>What lies between the two.</summary>
    private sealed class Cable
    {
        public volatile bool IsCut;

        public Side First { get; set; } = null!;

        public Side Second { get; set; } = null!;
    }

    private sealed class Side : IPartner, IAsyncDisposable
    {
        private readonly HistorianFile _historian;
        private readonly Bridge _bridge;
        private readonly Cable _cable;
        private readonly bool _isFirst;
        private readonly CancellationTokenSource _stop = new();
        private Task _running = Task.CompletedTask;

        public Side(Site site, string store, bool isFirst, Cable cable)
        {
            (_cable, _isFirst) = (cable, isFirst);
            _historian = HistorianFile.Open(store, new HistorianOptions(), TimeProvider.System);
            var pair = new PairConfiguration(new Uri("http://the-other.example")) { IsFirst = isFirst, TakeOverAfter = TimeSpan.FromSeconds(3) };
            Role = new ReadingRole(pair.Partner);
            site = site with { Pair = pair, Store = site.Store with { Path = store } };
            _bridge = new Bridge(site, _historian, new HistorianSignal(), [], TimeProvider.System, NullLoggerFactory.Instance, bootId: null, role: Role, partner: this);
        }

        public ReadingRole Role { get; }

        public IReadOnlyList<CycleEnded> Cycles => [.. _historian.ReadEvents(new EventQuery { Kinds = ["cycle-ended"] }).OfType<CycleEnded>()];

        private Side Other => _isFirst ? _cable.Second : _cable.First;

        public void Start() => _running = Task.Run(() => _bridge.RunAsync(_stop.Token));

        public Task<PairAnswer> AskAsync(long after, int atMost, TimeSpan wait, CancellationToken cancellation)
        {
            if (_cable.IsCut)
            {
                throw new PartnerException("the cable is cut");
            }

            var now = TimeProvider.System.GetUtcNow();
            if (atMost > 0)
            {
                Other._bridge.Pair!.Acknowledge(after);
            }

            return Task.FromResult(new PairAnswer(PairTeller.With(Other._bridge.Pair!.Stands(now), Other._historian, after, atMost), now, now));
        }

        public Task CyclesAsync(int count, CancellationToken deadline) => UntilAsync(() => Cycles.Count >= count, deadline);

        public async Task UntilAsync(Func<bool> isSo, CancellationToken deadline)
        {
            using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(100));
            while (!isSo())
            {
                if (_running.IsFaulted)
                {
                    await _running;
                }

                await look.WaitForNextTickAsync(deadline);
            }
        }

        public async Task StopAsync()
        {
            await _stop.CancelAsync();
            await _running;
        }

        public async ValueTask DisposeAsync()
        {
            await StopAsync();
            _historian.Dispose();
            _stop.Dispose();
        }
    }
}
