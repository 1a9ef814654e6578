using System.Text;
using System.Text.Json;
using CsCheck;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pairing;

namespace WashBridge.Tests.Pairing;

/// <summary>What one tells the other arrives as it was.</summary>
public sealed class PairPageTests
{
    private static readonly Gen<TimeBounds> Bounds = Gen.Select(Gen.Long[0, 1L << 50], Gen.Long[0, 1_000_000], (at, width) => new TimeBounds(new Instant(at), new Instant(at + width)));

    private static readonly Gen<Signal> Signals = Gen.Select(Gen.Int[0, 8], Gen.Enum<SignalType>(), (station, type) => new Signal("w1", station, "temperature.caustic", "Cel", type));

    private static readonly Gen<Sample> Samples = Gen.Select(Signals, Gen.OneOf(Gen.Double, Gen.Const(double.NaN), Gen.Const(-0.0), Gen.Const(double.PositiveInfinity)), Gen.String.Null(), Gen.Enum<Quality>(), Bounds, (signal, number, text, quality, at) => new Sample(signal, new SignalValue(number, Valid(text)), quality, at));

    private static readonly Gen<Frame> Frames = Gen.Select(Gen.Int[0, 255], Gen.Enum<FrameKind>(), Bounds, Gen.String.Null(), Gen.Long.Nullable(), Samples.List[0, 4], (group, kind, read, reason, shift, samples) => new Frame
    {
        Washer = "w1",
        Group = group,
        Kind = kind,
        Read = read,
        Reason = Valid(reason),
        Clock = kind == FrameKind.Clock ? new ClockShift(shift is { } ticks ? TimeSpan.FromTicks(ticks) : null) : null,
        Samples = [.. samples.Select((s, i) => i % 2 == 0 ? s with { At = read } : s)],
    });

    internal static PairPage Empty { get; } = new()
    {
        Site = "millrace", Washers = ["w1"], Store = "theirs", Reads = true, IsFirst = true, IsWarm = false, Copied = CopyMark.None,
        FramesSettled = 0, EventsSettled = 0, Last = 0, OwnEnd = long.MaxValue, Asked = DateTimeOffset.UnixEpoch, Answered = DateTimeOffset.UnixEpoch,
    };

    [Fact]
    public void Frames_arrive_with_every_bit() => Frames.List[0, 5].Sample(frames =>
    {
        var arrived = Sent([.. frames.Select((f, i) => new LogEntry(i + 1, f, null))]).ToLog().Select(e => e.Frame!).ToList();
        Assert.Equal(frames.Select(f => f with { Samples = [] }), arrived.Select(f => f with { Samples = [] }));
        Assert.Equal(frames.SelectMany(f => f.Samples).Select(Bits), arrived.SelectMany(f => f.Samples).Select(Bits));
    });

    [Fact]
    public void Events_arrive_as_they_are_stored_and_how_the_other_stands_too()
    {
        var told = new KegScanned { Id = "scan-1", Washer = "w1", At = TimeBounds.At(new Instant(5)), Station = 1, KegId = "K-ä\"1" };
        var page = Sent([new LogEntry(7, null, told)]);
        Assert.Equal(WashJson.Write(told), WashJson.Write(Assert.Single(page.ToLog()).Event!));
        Assert.Equal(Empty with { Entries = page.Entries, Signals = page.Signals, Washers = page.Washers }, page);
    }

    [Theory]
    [InlineData("")]
    [InlineData("{}")]
    [InlineData("<html>")]
    public void What_is_no_such_page_is_refused(string text) => Assert.Throws<JsonException>(() => PairPage.Read(Encoding.UTF8.GetBytes(text)));

    [Fact]
    public void An_entry_that_is_not_understood_is_refused()
    {
        foreach (var strange in new[] { "{\"kind\":\"of-another-version\",\"id\":\"1\"}", "{\"id\":\"1\"}" })
        {
            Assert.Throws<JsonException>(() => (Empty with { Entries = [new PairEntry(1, null, strange, null)] }).ToLog().ToList());
        }

        Assert.Throws<JsonException>(() => (Empty with { Entries = [new PairEntry(1, null, null, null)] }).ToLog().ToList());
        var stray = new PairFrame("w1", 0, FrameKind.Full, 0, 0, null, null, [new PairSample(1, 0, null, Quality.Good, null, null)]);
        Assert.Throws<JsonException>(() => (Empty with { Entries = [new PairEntry(1, stray, null, null)] }).ToLog().ToList());
    }

    private static PairPage Sent(IReadOnlyList<LogEntry> entries)
    {
        var signals = entries.Where(e => e.Frame is not null).SelectMany(e => e.Frame!.Samples).Select(s => s.Signal).Distinct().ToList();
        using var wire = new MemoryStream();
        PairPage.Write(wire, Empty with { Signals = signals, Entries = [.. entries.Select(e => PairEntry.Of(e, signals.IndexOf, null))] });
        return PairPage.Read(wire.ToArray());
    }

    private static (Signal, long, string?, Quality, TimeBounds) Bits(Sample sample) => (sample.Signal, BitConverter.DoubleToInt64Bits(sample.Value.Number), sample.Value.Text, sample.Quality, sample.At);

    /// <summary>JSON is Unicode text: halves of a pair of surrogates have no form in it. No controller's text has any.</summary>
    private static string? Valid(string? text) => text is null ? null : Encoding.UTF8.GetString(Encoding.UTF8.GetBytes(text));
}
