using System.Text.Json;
using System.Threading.Channels;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Pairing;

/// <summary>
/// One of two bridges that read the same washers and keep one log: the one that reads commits what it reads, the other copies it, and keeps its own reads ready for the
/// moment at which the first is gone. PAIRING.md beside this file says what follows from that.
/// </summary>
internal sealed class Pair : IDisposable
{
    /// <summary>How often the one that reads asks how the other stands.</summary>
    private static readonly TimeSpan AskEvery = TimeSpan.FromSeconds(2);

    /// <summary>At least so long lies between two pages of the copy: what the other commits meanwhile comes in one.</summary>
    private static readonly TimeSpan Pace = TimeSpan.FromMilliseconds(200);

    /// <summary>So long the other may wait with its answer for something to copy: well within the shortest time after which it counts as gone.</summary>
    private static readonly TimeSpan Wait = TimeSpan.FromMilliseconds(500);
    private static readonly TimeSpan Retry = TimeSpan.FromMilliseconds(500);

    private readonly PairConfiguration _pair;
    private readonly Site _site;
    private readonly IHistorian _historian;
    private readonly HistorianSignal _signal;
    private readonly IPartner _partner;
    private readonly FrameIntake _intake;
    private readonly ReadingRole _role;
    private readonly FoldGate _gate;
    private readonly Func<(long Frames, long Events)> _settled;
    private readonly TimeProvider _time;
    private readonly PairLog _log;
    private readonly Channel<Frame> _own = Channel.CreateBounded<Frame>(new BoundedChannelOptions(8192) { SingleReader = true });
    private readonly SemaphoreSlim _turn = new(1, 1);
    private readonly LastReads _reads;
    private readonly PairCopier _copier;
    private readonly Standby _standby;
    private readonly CopyPoints _points = new();
    private PairMemory _memory;
    private PairAnswer? _answer;
    private volatile bool _isWarm;
    private bool _isComplete = true;
    private bool _hasToFetch;
    private readonly Hold _hold;

    /// <param name="settled">Up to where what follows from frames and from events is in the log.</param>
    public Pair(Site site, IHistorian historian, HistorianSignal signal, IPartner partner, FrameIntake intake, ReadingRole role, FoldGate gate, Func<(long Frames, long Events)> settled, TimeProvider time, ILogger logger)
    {
        (_site, _historian, _signal, _partner, _intake, _role, _gate, _settled, _time) = (site, historian, signal, partner, intake, role, gate, settled, time);
        _pair = site.Pair ?? throw new ArgumentException("the site is not one of a pair", nameof(site));
        _log = new PairLog(logger, _pair.Partner);
        _memory = PairMemory.Read(historian) ?? PairMemory.New();
        historian.AppendEvents([], _memory.ToState(historian));
        _reads = LastReads.Of(historian);
        _copier = new PairCopier(historian, _reads);
        _standby = new Standby(_pair.TakeOverAfter * 2);
        _hold = new Hold(time);
        gate.LeaveOut(_memory.LeftOut);
        gate.Set(0, 0);
    }

    /// <summary>For what this bridge reads itself.</summary>
    public ChannelWriter<Frame> Writer => _own.Writer;

    /// <summary>What keeps the two from being one; null: they are, as far as is known.</summary>
    public string? Trouble => _log.Trouble;

    /// <summary>When the partner last answered; null: not since the start.</summary>
    public DateTimeOffset? Heard => Volatile.Read(ref _answer)?.Received;

    public bool IsReading => _role.IsReading;

    /// <summary>What it would tell the other now, without entries.</summary>
    public PairPage Stands(DateTimeOffset asked)
    {
        var (frames, events) = _settled();
        var memory = Volatile.Read(ref _memory);
        return new PairPage
        {
            Site = _site.Id,
            Washers = [.. _site.Washers.Select(w => w.Model.Washer)],
            Store = memory.Store,
            Reads = _role.IsReading,
            IsFirst = _pair.IsFirst,
            IsWarm = _isWarm,
            Copied = memory.Mark,
            FramesSettled = frames,
            EventsSettled = events,
            Last = _historian.LastSequence,
            OwnEnd = memory.IsCopying ? memory.OwnEnd : long.MaxValue,
            Asked = asked,
            Answered = asked,
        };
    }

    public void Dispose()
    {
        _turn.Dispose();
        (_partner as IDisposable)?.Dispose();
    }

    /// <summary>The other has copied all entries up to here.</summary>
    public void Acknowledge(long sequence)
    {
        _hold.Acknowledge(sequence);
        MoveGate();
    }

    /// <summary>Takes own reads into the log, or lets them wait, until the writer is completed.</summary>
    public async Task TakeOwnAsync()
    {
        await foreach (var frame in _own.Reader.ReadAllAsync())
        {
            await _turn.WaitAsync();
            try
            {
                if (_role.IsReading)
                {
                    _reads.Take(frame);
                    await _intake.Writer.WriteAsync(frame);
                    MoveGate();
                }
                else
                {
                    _standby.Take(frame);
                }
            }
            finally
            {
                _turn.Release();
            }
        }
    }

    /// <summary>Asks, copies and decides until cancelled.</summary>
    public async Task KeepContactAsync(CancellationToken cancellation)
    {
        var heard = _time.GetTimestamp();
        try
        {
            while (true)
            {
                var answer = await AskAsync(cancellation);
                if (answer is not null)
                {
                    heard = _time.GetTimestamp();
                    Volatile.Write(ref _answer, answer with { Page = answer.Page with { Entries = [], Signals = [] } });
                    await TakeAsync(answer);
                }

                await DecideAsync(answer, _time.GetElapsedTime(heard) >= _pair.TakeOverAfter);
                await Task.Delay(_role.IsReading ? AskEvery : answer is null ? Retry : _isComplete ? Pace : TimeSpan.Zero, _time, cancellation);
            }
        }
        catch (OperationCanceledException) when (cancellation.IsCancellationRequested)
        {
            _historian.AppendEvents([], _memory.ToState(_historian));
        }
    }

    private async Task<PairAnswer?> AskAsync(CancellationToken cancellation)
    {
        try
        {
            var answer = _role.IsReading
                ? await _partner.AskAsync(Math.Max(_memory.Mark.Theirs, _memory.Told), _hasToFetch ? PairTeller.MostEntries : 0, TimeSpan.Zero, cancellation)
                : await _partner.AskAsync(_memory.Mark.Theirs, PairTeller.MostEntries, _isComplete ? Wait : TimeSpan.Zero, cancellation);
            if (Mismatch(answer.Page) is not { } mismatch)
            {
                _log.Heard();
                return answer;
            }

            _log.Unheard(mismatch);
        }
        catch (PartnerException failure)
        {
            _log.Unheard(failure.Message);
        }

        return null;
    }

    private string? Mismatch(PairPage page) =>
        page.Store == _memory.Store ? "it has a copy of this bridge's store: one of the two must begin with a store of its own" : page.Mismatch(_site);

    private async Task TakeAsync(PairAnswer answer)
    {
        var page = answer.Page;
        if (page.IsFirst == _pair.IsFirst)
        {
            _log.SameRank(_pair.IsFirst);
        }

        await _turn.WaitAsync();
        try
        {
            if (_memory.Mark.Of != page.Store)
            {
                Remember(_memory with { Mark = new CopyMark(page.Store, 0, 0), Told = 0, IsCopying = false });
            }

            if (_role.IsReading)
            {
                FetchTold(page);
                return;
            }

            if (!page.Reads && (HasNews(page) || !IsBehind(page)))
            {
                return;
            }

            BeginCopy(answer);
            var memory = _copier.Copy(page, _memory, answer.Offset.Ahead);
            Remember(memory.Fork.IsPast(_reads.Latest) ? memory with { Fork = memory.Fork with { Ends = [] } } : memory);
            _isComplete = page.Entries.Count == 0 || page.End >= page.Last;
            _isWarm |= page.Reads;
            if (_isComplete)
            {
                _points.Add(Math.Max(_memory.Mark.Theirs, page.Last), _memory.Mark.Ours);
                _gate.Set(_points.Upto(page.FramesSettled), _points.Upto(page.EventsSettled));
            }

            _signal.Publish(_historian.LastSequence);
            _standby.Covered(_reads, answer.Offset);
        }
        catch (HistorianException failure) when (failure.IsTransient)
        {
            _log.NotCopied(failure);
        }
        catch (JsonException strange)
        {
            _log.Unheard($"an entry of its log is not understood; are both of the same version? {strange.Message}");
        }
        finally
        {
            _turn.Release();
        }
    }

    private void BeginCopy(PairAnswer answer)
    {
        if (_memory.IsCopying)
        {
            return;
        }

        // Where its log stood when it last copied ours, ours stood where it had come to: behind that, each has its own.
        var copied = answer.Page.Copied.For(_memory.Store);
        _points.Add(copied.Ours, copied.Theirs);
        if (HasReadAlone(copied))
        {
            AppendClocks(new ClockShift(null));
            Remember(_memory with { IsCopying = true, OwnEnd = _historian.LastSequence, Fork = Fork.At(_reads) });
        }
        else
        {
            Remember(_memory with { IsCopying = true, OwnEnd = _historian.LastSequence, LeftOut = [.. _memory.LeftOut, new LogRange(copied.Theirs, _historian.LastSequence)] });
            _gate.LeaveOut(_memory.LeftOut);
        }

        _log.Copies();
    }

    /// <summary>The other was gone without its last entries being copied, and is back: what people told it then is not lost.</summary>
    private void FetchTold(PairPage page)
    {
        if (!page.Reads && page.Entries.Count > 0)
        {
            Remember(_copier.CopyTold(page, _memory));
            _signal.Publish(_historian.LastSequence);
        }

        _hasToFetch = !page.Reads && Math.Min(page.OwnEnd, page.Last) > Math.Max(_memory.Mark.Theirs, _memory.Told);
    }

    /// <summary>Behind what the partner has copied lies more than the last moment before an end that nobody expected.</summary>
    private bool HasReadAlone(CopyMark copied) =>
        _historian.ReadLog(copied.Theirs, 1, LogContent.Frames) is [var first] && _reads.Latest is { } last && last - first.Frame!.Read.Latest > _pair.TakeOverAfter / 2;

    private void AppendClocks(ClockShift shift)
    {
        var now = TimeBounds.At(Instant.Floor(_time.GetUtcNow()));
        _historian.AppendFrames([.. _site.Washers.Select(w => new Frame { Washer = w.Model.Washer, Group = 0, Kind = FrameKind.Clock, Read = now, Clock = shift, Reason = "read by another bridge from here on: both have read meanwhile" })]);
    }

    /// <summary>The partner has what we have not.</summary>
    private bool IsBehind(PairPage page) => PairMemory.HasNews(page.Last, page.Copied.For(_memory.Store), _memory.Mark);

    /// <summary>We have what the partner has not.</summary>
    private bool HasNews(PairPage page) => PairMemory.HasNews(_historian.LastSequence, _memory.Mark, page.Copied.For(_memory.Store));

    private async Task DecideAsync(PairAnswer? answer, bool isSilent)
    {
        var page = answer?.Page;
        var self = new Standing(_memory.Store, _role.IsReading, _pair.IsFirst, _isWarm, page is not null && HasNews(page));
        var other = page is null ? (Standing?)null : new Standing(page.Store, page.Reads, page.IsFirst, page.IsWarm, IsBehind(page));
        var reads = PairElection.Reads(self, other, isSilent);
        if (reads && !_role.IsReading && (page is null || _isComplete))
        {
            await TakeOverAsync(page is null ? $"{_pair.Partner} does not answer" : "it has been agreed so");
        }
        else if (!reads && _role.IsReading)
        {
            await GiveWayAsync(answer!);
        }
    }

    private async Task TakeOverAsync(string why)
    {
        await _turn.WaitAsync();
        try
        {
            var frames = _standby.HandOut(_reads, _memory.IsCopying, $"read by another bridge from here on: {why}", Instant.Floor(_time.GetUtcNow()));
            Remember(_memory with { IsCopying = false, Fork = Fork.None });
            _role.IsReading = true;
            _isWarm = false;
            foreach (var frame in frames)
            {
                _reads.Take(frame);
                await _intake.Writer.WriteAsync(frame);
            }

            _gate.Open();
            _log.Reads(why);
        }
        finally
        {
            _turn.Release();
        }
    }

    /// <summary>Both read, because they did not hear each other; the other goes on.</summary>
    private async Task GiveWayAsync(PairAnswer answer)
    {
        await _turn.WaitAsync();
        try
        {
            _role.IsReading = false;
            while (!_intake.IsIdle)
            {
                await Task.Delay(Retry, _time);
            }

            _gate.Set(_historian.LastSequence, _historian.LastSequence);
            _points.Clear();
            AppendClocks(new ClockShift(-answer.Offset.ToOurs.Shift));
            Remember(_memory with { IsCopying = true, OwnEnd = _historian.LastSequence, Fork = Fork.At(_reads) });
            _log.GivesWay();
        }
        finally
        {
            _turn.Release();
        }
    }

    /// <summary>While it reads, what the other has got may be folded.</summary>
    private void MoveGate()
    {
        if (_role.IsReading)
        {
            _gate.Set(_hold.Upto(_historian.LastSequence), long.MaxValue);
        }
    }

    private void Remember(PairMemory memory)
    {
        Volatile.Write(ref _memory, memory);
        _historian.AppendEvents([], memory.ToState(_historian));
    }
}
