using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Orders;
using WashBridge.Pairing;
using WashBridge.Tests.Orders;

namespace WashBridge.Tests.Pairing;

/// <summary>One log becomes the end of another.</summary>
public sealed class PairCopierTests : IDisposable
{
    private readonly RecordStore _theirs = new();
    private readonly RecordStore _ours = new();
    private PairMemory _memory = PairMemory.New() with { Mark = new CopyMark("theirs", 0, 0), IsCopying = true };

    public void Dispose()
    {
        _theirs.Dispose();
        _ours.Dispose();
    }

    [Fact]
    public void Frames_and_events_come_over_in_their_order_page_by_page()
    {
        Fill();
        while (Copy(2).Entries.Count > 0)
        {
        }

        Assert.Equal(Log(_theirs), Log(_ours));
        Assert.Equal(_theirs.Historian.LastSequence, _memory.Mark.Theirs);
        Assert.Equal(_ours.Historian.LastSequence, _memory.Mark.Ours);
    }

    [Fact]
    public void Being_killed_between_any_two_transactions_copies_nothing_twice()
    {
        Fill();
        var killed = new KilledHistorian(_ours.Historian);
        for (var survived = 0; ; survived++)
        {
            // What is stored decides, not what the process knew.
            _memory = PairMemory.Read(_ours.Historian) ?? _memory;
            killed.Left = survived % 3;
            try
            {
                if (Copy(100, killed).Entries.Count == 0)
                {
                    break;
                }
            }
            catch (OperationCanceledException)
            {
                // Killed, and started again.
            }
        }

        Assert.Equal(Log(_theirs), Log(_ours));
    }

    [Fact]
    public void What_the_other_copied_from_here_does_not_come_back_but_what_people_told_it_does()
    {
        var own = StandbyTests.Frame(1, "north");
        _ours.Historian.AppendFrames([own]);
        _theirs.Historian.AppendFrames([own]);
        Fill();
        var copied = new CopyMark(_memory.Store, 1, _theirs.Historian.LastSequence - 1);

        Copy(100, copied: copied);

        Assert.Equal([own.Read, StandbyTests.Frame(3, "north").Read], _ours.Historian.ReadLog(0, 100, LogContent.Frames).Select(e => e.Frame!.Read));
        Assert.Equal(["titration-recorded"], _ours.Historian.ReadEvents(new EventQuery()).Select(WashJson.KindOf));
    }

    [Fact]
    public void Of_a_time_when_both_have_read_each_keeps_its_own()
    {
        var end = StandbyTests.Frame(2, "north").Read.Latest;
        _memory = _memory with { Fork = new Fork([new ForkEnd("north", 0, end)], []) };
        _theirs.Historian.AppendFrames([StandbyTests.Frame(1, "north"), StandbyTests.Frame(2, "north", kind: FrameKind.Clock), StandbyTests.Frame(1, "north", group: 1)]);
        _theirs.Historian.AppendEvents([Started("their-1", 1), Measured("their-1", 3), Started("their-2", 4)]);
        _theirs.Historian.AppendFrames([StandbyTests.Frame(3, "north")]);

        Copy(100);

        Assert.Equal([1, 0], _ours.Historian.ReadLog(0, 100, LogContent.Frames).Select(e => e.Frame!.Group));
        Assert.Equal(["their-2"], _ours.Historian.ReadEvents(new EventQuery()).Select(e => e.CycleId));
        Assert.Equal(["their-1"], _memory.Fork.Cycles);
    }

    [Fact]
    public void A_correction_names_the_record_by_the_number_that_it_has_here()
    {
        _ours.Told(new ToldTitration("north", "acid", 1, "%", "A"));
        var wrong = _theirs.Told(new ToldTitration("north", "caustic", 9, "%", "B"));
        _theirs.Told(new ToldCorrection(1, "strength", "2.5", "B", "slip of the pen"));

        Copy(100);

        var correction = Assert.Single(_ours.Historian.ReadEvents(new EventQuery()).OfType<RecordCorrected>());
        Assert.Equal(2, correction.Number);
        Assert.Equal(wrong.Id, _ours.Historian.ReadRecords(1, 1)[0].Event.Id);
    }

    [Fact]
    public void Told_only_leaves_frames_and_what_follows_from_them()
    {
        Fill();
        _memory = new PairCopier(_ours.Historian, new LastReads()).CopyTold(Page(100), _memory);
        Assert.Empty(_ours.Historian.ReadLog(0, 100, LogContent.Frames));
        Assert.Equal(["titration-recorded"], _ours.Historian.ReadEvents(new EventQuery()).Select(WashJson.KindOf));
        Assert.Equal((0, _theirs.Historian.LastSequence), (_memory.Mark.Theirs, _memory.Told));
    }

    private static CycleStarted Started(string cycle, double seconds) => new()
    {
        Id = $"{cycle}/started", Washer = "north", CycleId = cycle, At = StandbyTests.Frame(seconds).Read,
        Edge = new Edge(new Moment(StandbyTests.Frame(seconds).Read.Earliest, StandbyTests.Frame(seconds).Read.Earliest, 0), new Moment(StandbyTests.Frame(seconds).Read.Latest, StandbyTests.Frame(seconds).Read.Latest, 0)), StartUnseen = false,
    };

    private static CyclePaused Measured(string cycle, double seconds) => new() { Id = $"{cycle}/pause-1/started", Washer = "north", CycleId = cycle, At = StandbyTests.Frame(seconds).Read, Edge = Started(cycle, seconds).Edge };

    private static List<string> Log(RecordStore store) => [.. store.Historian.ReadLog(0, 1000).Select(e => e.Event is { } told ? WashJson.Write(told) : $"{e.Frame!.Kind} {e.Frame.Washer} {e.Frame.Group} {e.Frame.Read}")];

    private void Fill()
    {
        _theirs.Historian.AppendFrames([StandbyTests.Frame(1, "north"), StandbyTests.Frame(1, "yard")]);
        _theirs.Historian.AppendEvents([Started("c1", 1), Measured("c1", 2)]);
        _theirs.Told(new ToldTitration("north", "acid", 1, "%", "A"));
        _theirs.Historian.AppendFrames([StandbyTests.Frame(3, "north")]);
    }

    private PairPage Page(int atMost) => PairTeller.With(PairPageTests.Empty, _theirs.Historian, _memory.Mark.Theirs, atMost);

    private PairPage Copy(int atMost, IHistorian? historian = null, CopyMark? copied = null)
    {
        var page = Page(atMost) with { Copied = copied ?? CopyMark.None };
        _memory = new PairCopier(historian ?? _ours.Historian, new LastReads()).Copy(page, _memory, TimeSpan.Zero);
        return page;
    }
}
