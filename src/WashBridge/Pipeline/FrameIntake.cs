using System.Diagnostics;
using System.Threading.Channels;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Telemetry;

namespace WashBridge.Pipeline;

/// <summary>
/// The one writer of frames: takes what pollers bring and commits whatever is there in one transaction. A frame is real once
/// <see cref="HistorianSignal"/> has told its sequence number. When the disk cannot keep up the queue fills, pollers wait, and their
/// schedules count overruns: nothing is dropped here.
/// </summary>
internal sealed partial class FrameIntake(IHistorian historian, HistorianSignal signal, TimeProvider time, ILogger<FrameIntake> logger)
{
    private const int Capacity = 8192;

    /// <summary>Commits are at least this far apart: a commit costs the disk the same for one frame as for a hundred.</summary>
    private static readonly TimeSpan CommitSpacing = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan RetryAfter = TimeSpan.FromSeconds(1);

    private volatile int _committing;

    private readonly Channel<Frame> _queue = Channel.CreateBounded<Frame>(new BoundedChannelOptions(Capacity) { SingleReader = true });

    public ChannelWriter<Frame> Writer => _queue.Writer;

    public int Waiting => _queue.Reader.Count;

    /// <summary>All that was written to it is committed.</summary>
    public bool IsIdle => _queue.Reader.Count == 0 && _committing == 0;

    /// <summary>Why frames cannot be committed; null: the last commit succeeded, or there was none yet.</summary>
    public string? Trouble { get; private set; }

    /// <summary>Runs until the writer is completed and all it was given is committed.</summary>
    public async Task RunAsync()
    {
        var batch = new List<Frame>(1024);
        while (await _queue.Reader.WaitToReadAsync())
        {
            _committing = 1;
            while (batch.Count < Capacity && _queue.Reader.TryRead(out var frame))
            {
                batch.Add(frame);
            }

            await CommitAsync(batch);
            batch.Clear();
            _committing = 0;
            if (!_queue.Reader.Completion.IsCompleted)
            {
                await Task.Delay(CommitSpacing, time);
            }
        }
    }

    private async Task CommitAsync(List<Frame> batch)
    {
        for (var attempt = 1; ; attempt++)
        {
            var begun = Stopwatch.GetTimestamp();
            using var span = Traces.Commit(batch);
            try
            {
                var last = historian.AppendFrames(batch);
                signal.Trail.Add(last, span);
                signal.Publish(last);
                Trouble = null;
                CommitInstruments.Duration.Record(Measures.SecondsSince(begun));
                CommitInstruments.Delay.Record((Instant.Floor(time.GetUtcNow()) - batch[0].Read.Latest).TotalSeconds);
                CommitInstruments.Frames.Add(batch.Count);
                return;
            }
            catch (HistorianException failure) when (failure.IsTransient)
            {
                Trouble = failure.Message;
                CommitInstruments.Failures.Add(1);
                span?.SetStatus(ActivityStatusCode.Error, failure.Message);
                CommitFailed(logger, batch.Count, attempt, failure);
                await Task.Delay(RetryAfter, time);
            }
        }
    }

    [LoggerMessage(EventId = 2001, Level = LogLevel.Error, Message = "Could not commit {Frames} frames (attempt {Attempt}); they are kept and tried again")]
    private static partial void CommitFailed(ILogger logger, int frames, int attempt, Exception failure);
}
