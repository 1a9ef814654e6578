using System.Globalization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;

namespace WashBridge.Core.Tests.Cycles;

/// <summary>
/// Frames written as lines of text: seconds, then what was read. <c>12.5 step=21 dry1=0</c> is a read that lasted from 12.50 to 12.51 s; a line with
/// the time alone is a read without changes. <c>g1</c> puts a line in group 1, <c>=bad</c> makes a value bad, <c>fail</c> is a failed read,
/// <c>clock +3600</c> a known step of the wall clock and <c>clock ?</c> an unknown one, <c>full</c> a full frame. Seconds are true ones: a clock step
/// moves the wall time of all later lines.
/// </summary>
internal static class Script
{
    public static readonly Instant Zero = Instant.Parse("2031-03-05T08:00:00Z");
    private static readonly TimeSpan Trip = TimeSpan.FromMilliseconds(10);

    private static readonly Dictionary<string, string> Names = new()
    {
        ["step"] = "sequence.step",
        ["running"] = "sequence.running",
        ["paused"] = "sequence.paused",
        ["fault"] = "sequence.fault",
        ["count"] = "sequence.cycle-count",
        ["programme"] = "sequence.programme",
        ["dry"] = "drain.dry",
        ["keg"] = "keg.present",
        ["id"] = "keg.id",
        ["hold"] = "setpoint.sanitise.hold",
        ["water"] = "valve.water",
        ["sanitiser"] = "valve.sanitiser",
        ["drain"] = "valve.drain",
        ["co2"] = "valve.co2",
        ["vent"] = "valve.vent",
    };

    public static IReadOnlyList<WashEvent> Fold(WasherModel model, string script)
    {
        var segmenter = new Segmenter(model);
        return [.. Frames(model, script).SelectMany(segmenter.Accept)];
    }

    public static IReadOnlyList<CycleRecord> CyclesOf(WasherModel model, string script) =>
        [.. Fold(model, script).OfType<CycleEnded>().Select(e => e.Cycle)];

    public static IEnumerable<Frame> Frames(WasherModel model, string script)
    {
        var shift = TimeSpan.Zero;
        var seen = new HashSet<int>();
        foreach (var line in script.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            var words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries);
            var at = Zero + Span(double.Parse(words[0], CultureInfo.InvariantCulture)) + shift;
            var read = new TimeBounds(at, at + Trip);
            var group = words.FirstOrDefault(w => w.Length > 1 && w[0] == 'g' && char.IsDigit(w[1])) is { } g ? int.Parse(g[1..]) : 0;
            if (words.Contains("clock"))
            {
                TimeSpan? step = words[^1] == "?" ? null : TimeSpan.FromSeconds(double.Parse(words[^1], CultureInfo.InvariantCulture));
                shift += step ?? TimeSpan.FromHours(5);
                yield return new Frame { Washer = model.Washer, Group = 0, Kind = FrameKind.Clock, Read = read, Clock = new ClockShift(step), Reason = "test" };
            }
            else if (words.Contains("fail"))
            {
                yield return new Frame { Washer = model.Washer, Group = group, Kind = FrameKind.Failed, Read = read, Reason = "no answer" };
            }
            else
            {
                var samples = words.Where(w => w.Contains('=')).Select(w => Sample(model, w, read)).ToList();
                var kind = seen.Add(group) || words.Contains("full") ? FrameKind.Full : FrameKind.Changes;
                yield return new Frame { Washer = model.Washer, Group = group, Kind = kind, Read = read, Samples = samples };
            }
        }
    }

    public static Edge Edge(double earliest, double latest) => new(Moment(earliest), Moment(latest));

    public static Moment Moment(double seconds)
    {
        var at = Zero + Span(seconds);
        return new Moment(at, at, 0);
    }

    public static DurationBounds Seconds(double lower, double upper) => new(Span(lower), Span(upper));

    public static TimeSpan Span(double seconds) => TimeSpan.FromMicroseconds(Math.Round(seconds * 1e6));

    private static Sample Sample(WasherModel model, string word, TimeBounds read)
    {
        var (key, text) = (word.Split('=')[0], word.Split('=')[1]);
        var station = char.IsDigit(key[^1]) && key is not "co2" ? key[^1] - '0' : 0;
        var name = Names[station > 0 ? key[..^1] : key];
        var signal = model.Signals.Single(s => s.Name == name && s.Station == station);
        return text == "bad" ? new Sample(signal, SignalValue.None, Quality.Bad, read)
            : new Sample(signal, signal.Type == SignalType.Text ? SignalValue.Of(text) : new SignalValue(double.Parse(text, CultureInfo.InvariantCulture)), Quality.Good, read);
    }
}
