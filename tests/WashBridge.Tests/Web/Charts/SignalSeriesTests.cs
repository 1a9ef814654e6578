using CsCheck;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Web.Charts;

namespace WashBridge.Tests.Web.Charts;

public sealed class SignalSeriesTests : IDisposable
{
    private static readonly Instant Start = Instant.Parse("2031-03-05T06:00:00Z");
    private static readonly Signal Caustic = new("w1", 0, "temperature.caustic", "Cel", SignalType.Quantity);
    private static readonly SignalWatch Watched = new(TimeSpan.FromSeconds(90), []);

    private readonly TemporaryFolder _folder = new();
    private readonly Historian.Historian _historian;

    public SignalSeriesTests() => _historian = Historian.Historian.Open(_folder["a.washdb"], new HistorianOptions(), new SettableTime(Start.ToDateTimeOffset()));

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void Few_samples_are_drawn_as_they_are_and_the_last_before_the_period_holds_at_its_start()
    {
        Append([(-10, 70), (20, 71), (40, 72)]);

        var picture = Read(0, 60);

        Assert.Equal(SignalDetail.Samples, picture.Detail);
        Assert.Equal([(0, 70), (20, 71), (40, 72), (60, 72)], Points(picture));
        Assert.Empty(picture.Stretches);
        Assert.Equal(2, picture.Samples);
    }

    [Fact]
    public void A_value_is_not_drawn_across_a_silence_that_no_heartbeat_broke()
    {
        Append([(0, 70), (10, 71), (200, 72), (210, 73)]);

        var picture = Read(0, 240);

        Assert.Equal([(0, 70), (10, 71), (10, null), (200, 72), (210, 73), (240, 73)], Points(picture));
        Assert.Equal((10, 200), Seconds(Assert.Single(picture.Stretches)));
    }

    [Fact]
    public void A_value_is_drawn_up_to_the_last_reading_before_the_connection_broke()
    {
        Append([(0, 70), (60, 71)]);
        var watch = Watched with { Silences = [new Silence(At(20), At(50), "cable")] };

        var picture = Read(0, 80, watch);

        Assert.Equal([(0, 70), (20, null), (60, 71), (80, 71)], Points(picture));
        var gap = Assert.Single(picture.Stretches);
        Assert.Equal((StretchKind.Gap, "cable"), (gap.Kind, gap.Reason));
    }

    [Fact]
    public void Nothing_connects_what_came_before_a_restart_with_what_came_after()
    {
        Append([(0, 70), (30, 70), (60, 71)]);
        var watch = Watched with { Silences = [new Silence(At(45), At(45), "start")] };

        Assert.Equal([(0, 70), (30, null), (60, 71), (80, 71)], Points(Read(0, 80, watch)));
    }

    [Fact]
    public void A_bad_value_leaves_the_line_open_and_a_doubtful_one_is_marked()
    {
        Append([(0, 70), (20, double.NaN), (40, 71), (60, 72)], at => at switch { 20 => Quality.Bad, 40 => Quality.Uncertain, _ => Quality.Good });

        var picture = Read(0, 80);

        Assert.Equal([(0, 70), (20, null), (40, 71), (60, 72), (80, 72)], Points(picture));
        Assert.Equal([(StretchKind.Bad, 20, 40), (StretchKind.Uncertain, 40, 60)], picture.Stretches.Select(s => (s.Kind, Seconds(s).From, Seconds(s).Until)));
    }

    [Fact]
    public void A_spike_of_one_sample_among_a_hundred_thousand_is_in_the_picture()
    {
        const int Count = 100_000;
        Append([.. Enumerable.Range(0, Count).Select(i => ((double)i, i == 54_321 ? 99.5 : 70 + (i % 7 / 10.0)))]);
        _historian.Seal(At(Count));

        var picture = Read(0, Count);

        Assert.Equal(SignalDetail.Parts, picture.Detail);
        Assert.True(picture.Points.Count <= SignalSeries.MostPoints, $"{picture.Points.Count} points");
        Assert.Equal((70, 99.5), (picture.Lowest, picture.Highest));
        var spike = Assert.Single(picture.Points, p => p.High == 99.5);
        Assert.InRange(54_321, Second(spike.At), Second(spike.At) + picture.PartSpan.TotalSeconds);
    }

    [Fact]
    public void Parts_hold_a_value_between_rare_samples_and_leave_gaps_open()
    {
        // Many samples in the first and last quarter of an hour; in between a heartbeat a minute, then nothing for ten minutes.
        var samples = Enumerable.Range(0, 3600).Select(i => (i * 0.25, 70.0 + (i % 2)))
            .Concat([(940, 75), (1000, 75), (1060, 75)])
            .Concat(Enumerable.Range(0, 3600).Select(i => (2700 + (i * 0.25), 80.0 + (i % 2)))).ToList();
        Append(samples);

        var picture = Read(0, 3600);

        Assert.Equal(SignalDetail.Parts, picture.Detail);
        Assert.Equal(75, ValueAt(picture, 1030));
        Assert.Null(ValueAt(picture, 2000));
        Assert.InRange(ValueAt(picture, 3000)!.Value, 80, 81);
        var gap = Assert.Single(picture.Stretches);
        Assert.Equal((1060, 2700), Seconds(gap));
    }

    [Fact]
    public void A_month_is_told_by_hours_with_their_lowest_and_highest()
    {
        Append([.. Enumerable.Range(0, 30 * 24 * 6).Select(i => (i * 600.0, i == 2000 ? 5.0 : 70))]);
        _historian.Seal(At(30 * 86400));

        var picture = Read(0, 30 * 86400);

        Assert.Equal(SignalDetail.Hours, picture.Detail);
        Assert.Equal((5, 70), (picture.Lowest, picture.Highest));
        Assert.Empty(picture.Stretches);
    }

    [Fact]
    public void Points_ascend_and_the_band_holds_the_line_whatever_was_recorded() =>
        Gen.Select(Gen.Double[0, 4000].Array[0, 400], Gen.Int[0, 2].Array[400], Gen.Int[1, 3000]).Sample((times, qualities, until) =>
        {
            using var folder = new TemporaryFolder();
            using var historian = Historian.Historian.Open(folder["a.washdb"], new HistorianOptions(), new SettableTime(Start.ToDateTimeOffset()));
            Append(historian, [.. times.Order().Select(t => (t, t))], _ => Quality.Good, i => (Quality)qualities[i]);
            foreach (var picture in new[] { SignalSeries.Read(historian, Caustic, Start, At(until), Watched) })
            {
                Assert.True(picture.Points.Zip(picture.Points.Skip(1)).All(p => p.First.At <= p.Second.At));
                Assert.All(picture.Points, p => Assert.True(p.At >= Start && p.At <= At(until)));
                Assert.All(picture.Points.Where(p => p.Value is not null), p => Assert.True(p.Low <= p.Value && p.Value <= p.High));
                Assert.All(picture.Stretches, s => Assert.True(s.From < s.Until));
                Assert.All(SignalTable.Of(picture, Start, At(until)), r => Assert.True(r.Low is null || r.Low <= r.High));
            }
        }, iter: 40);

    private static Instant At(double second) => Start + TimeSpan.FromSeconds(second);

    private static double Second(Instant at) => (at - Start).TotalSeconds;

    private static (double From, double Until) Seconds(SignalStretch stretch) => (Second(stretch.From), Second(stretch.Until));

    private static List<(double, double?)> Points(SignalPicture picture) => [.. picture.Points.Select(p => (Second(p.At), p.Value))];

    private static double? ValueAt(SignalPicture picture, double second) => picture.Points.Last(p => p.At <= At(second)).Value;

    private SignalPicture Read(double from, double until, SignalWatch? watch = null) => SignalSeries.Read(_historian, Caustic, At(from), At(until), watch ?? Watched);

    private void Append(IReadOnlyList<(double At, double Value)> samples, Func<double, Quality>? quality = null) => Append(_historian, samples, quality ?? (_ => Quality.Good), null);

    private static void Append(IHistorian historian, IReadOnlyList<(double At, double Value)> samples, Func<double, Quality> quality, Func<int, Quality>? byIndex)
    {
        var frames = samples.Select((s, i) =>
        {
            var read = TimeBounds.At(At(s.At));
            var q = byIndex?.Invoke(i) ?? quality(s.At);
            return new Frame { Washer = "w1", Group = 0, Kind = FrameKind.Full, Read = read, Samples = [new Sample(Caustic, new SignalValue(q == Quality.Bad ? double.NaN : s.Value), q, read)] };
        }).ToList();
        foreach (var batch in frames.Chunk(10_000))
        {
            historian.AppendFrames(batch);
        }
    }
}
