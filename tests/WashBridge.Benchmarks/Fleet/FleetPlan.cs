using System.Globalization;
using System.Text;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>The tables of PLANNING.md, from what was measured. The formula stands on that page in words.</summary>
internal static class FleetPlan
{
    /// <summary>Our choice: everything that is planned is so many times what was measured.</summary>
    public const double HeadRoom = 2;

    /// <summary>Our choice: what one bridge reads is lost to its own machine's trouble.</summary>
    public const int WashersPerBridge = 100;

    /// <summary>As in the example's site file, <c>keep-samples</c>.</summary>
    private const double DaysOfSamples = 730;
    private const double DaysOfYear = 365;
    private const double SecondsOfDay = 86_400;

    private static readonly int[] Sizes = [10, 100, 1_000, 10_000];

    /// <summary>Markdown.</summary>
    /// <exception cref="InvalidOperationException">A part has not been measured.</exception>
    public static string Of(FleetFigures figures)
    {
        var (day, events, samples, run) = figures is { Day: { } d, Events: { } e, Samples: { } s, Run: { } r } ? (d, e, s, r) : throw new InvalidOperationException("measure all parts first: day, events, samples, run");
        var text = new StringBuilder();
        Line(text, $"Measured on: {figures.Machine}.");
        Heading(text, "What was measured: bridges side by side");
        Bridges(text, events, samples);
        Heading(text, "What was measured: a thousand washers at once");
        Fleet(text, run);
        Heading(text, "What was measured: InfluxDB");
        Influx(text, events, samples);
        Heading(text, "What was measured: a day of one washer");
        Day(text, day);
        Heading(text, "Coefficients");
        Coefficients(text, events, samples);
        Heading(text, "Plan");
        Plan(text, day, events, samples);
        return text.ToString();
    }

    private static void Bridges(StringBuilder text, CostFigures events, CostFigures samples)
    {
        Row(text, "washers", "to InfluxDB", "ready after", "one core's share", "a read, bare poll loop = 1", "memory", "threads", "to disk", "reads done of wanted", "failed, left out", "began late by", "committed after", "behind at most");
        Rule(text, 13);
        foreach (var (costs, what) in ((CostFigures, string)[])[(events, "events"), (samples, "events, samples")])
        {
            foreach (var b in costs.Bridges)
            {
                Row(
                    text,
                    b.IsOpcUa ? $"{b.Washers} by OPC UA" : Number(b.Washers),
                    what,
                    $"{b.ReadySeconds:0.0} s",
                    $"{b.Cores * 100:0.0} %",
                    b.IsOpcUa ? "" : $"{b.ProcessorPerRead / costs.BareProcessorPerRead:0.0}",
                    Bytes(b.Resident),
                    Number(b.Threads),
                    $"{Bytes(b.Written)}/s",
                    b.IsOpcUa ? $"{b.Reads:0} messages/s" : $"{b.Reads:0.0}/s of {b.Wanted:0.0}/s",
                    $"{b.Failed:0}, {b.LeftOut:0}",
                    b.IsOpcUa ? "" : $"{b.LateSeconds * 1000:0.0} ms",
                    $"{b.CommitDelaySeconds * 1000:0} ms",
                    $"{b.LagSeconds:0.0} s");
            }
        }
    }

    private static void Fleet(StringBuilder text, RunFigures run)
    {
        Row(text, "what", "measured");
        Rule(text, 2);
        Row(text, "washers, of them by OPC UA; bridges", $"{Number(run.Bridges.Sum(b => b.Washers))}, {run.OpcUaWashers}; {run.Bridges.Count}");
        Row(text, "window", $"{run.Seconds:0} s");
        Row(text, "Modbus reads and OPC UA messages done; Modbus reads wanted", $"{run.Bridges.Sum(b => b.Reads):0}/s; {run.Bridges.Sum(b => b.Wanted):0}/s");
        Row(text, "failed; left out", $"{run.Bridges.Sum(b => b.Failed):0}; {run.Bridges.Sum(b => b.LeftOut):0}");
        Row(text, "cycles that ran while they were read; of these in the historians; in InfluxDB", $"{Number(run.TrueCycles)}; {Number(run.Recorded)}; {Number(run.Forwarded)}");
        Row(text, "cores: all bridges; InfluxDB; simulated washers; together", $"{run.Bridges.Sum(b => b.Cores):0.00}; {run.Influx.Cores:0.00}; {run.PlantCores:0.00}; {run.Cores:0.00}");
        Row(text, "memory of a bridge", $"{Bytes(run.Bridges.Min(b => b.Resident))} to {Bytes(run.Bridges.Max(b => b.Resident))}");
        Row(text, "a poll began late by, in the mean; a follower was behind at most", $"{run.Bridges.Max(b => b.LateSeconds) * 1000:0.0} ms; {run.Bridges.Max(b => b.LagSeconds):0.0} s");
        Row(text, "a bridge ready after; stopped within", $"{run.Bridges.Max(b => b.ReadySeconds):0.0} s; {run.StopSeconds:0.0} s");
    }

    private static void Influx(StringBuilder text, CostFigures events, CostFigures samples)
    {
        Row(text, "InfluxDB 1.6.7 gets", "washers", "one core's share", "memory before, at the end", "to disk", "line protocol received", "requests");
        Rule(text, 7);
        foreach (var (influx, what) in ((InfluxFigures, string)[])[(events.Influx, "events"), (samples.Influx, "events, samples")])
        {
            Row(text, what, Number(influx.Washers), $"{influx.Cores * 100:0.0} %", $"{Bytes(influx.ResidentBefore)}, {Bytes(influx.Resident)}", $"{Bytes(influx.Written)}/s", $"{Bytes(influx.Received)}/s", $"{influx.Requests:0.0}/s");
        }
    }

    private static void Day(StringBuilder text, DayFigures day)
    {
        Row(text, "what", "events", "samples", "together");
        Rule(text, 4);
        Row(text, "cycles; polls", Number(day.Cycles), Number(day.Frames), "");
        Row(text, "historian, sealed", Bytes(day.EventBytes), Bytes(day.StoreBytes - day.EventBytes), Bytes(day.StoreBytes));
        Row(text, "lines to InfluxDB", Number(day.EventLines), Number(day.SampleLines - day.EventLines), Number(day.SampleLines));
        Row(text, "InfluxDB's files, packed", Bytes(day.EventInfluxBytes), Bytes(day.SampleInfluxBytes - day.EventInfluxBytes), Bytes(day.SampleInfluxBytes));
        Row(text, "series in InfluxDB", Number(day.EventSeries), Number(day.SampleSeries - day.EventSeries), Number(day.SampleSeries));
        Row(text, "processor time to seal it", "", $"{day.SealSeconds:0.00} s", "");
        Row(text, "state of the analysis, once", Bytes(day.StateBytes), "", Bytes(day.StateBytes));
    }

    private static void Coefficients(StringBuilder text, CostFigures events, CostFigures samples)
    {
        Row(text, "of a bridge by Modbus TCP", "before the first washer", "each washer more", "the same with samples to InfluxDB");
        Rule(text, 4);
        foreach (var (what, of, form) in ((string, Func<BridgeFigures, double>, Func<double, string>)[])[("cores", b => b.Cores, v => $"{v:0.0000}"), ("memory", b => b.Resident, Bytes), ("written to disk, a second", b => b.Written, Bytes)])
        {
            var (first, each) = events.Line(of);
            var (firstWith, eachWith) = samples.Line(of);
            Row(text, what, form(first), form(each), $"{form(firstWith)} and {form(eachWith)}");
        }

        Row(text, "Modbus payload, a second", "", Bytes(events.PayloadPerWasher), "");
    }

    private static void Plan(StringBuilder text, DayFigures day, CostFigures events, CostFigures samples)
    {
        Row(text, ["washers", .. Sizes.Select(s => Number(s))]);
        Rule(text, 1 + Sizes.Length);
        Each(text, "bridges", w => Number(BridgesFor(w)));
        Each(text, "cores, all bridges together", w => Cores(OfAll(events, b => b.Cores, w) + (HeadRoom * w * day.SealSeconds / SecondsOfDay)));
        Each(text, "memory of one bridge", w => Bytes(HeadRoom * OfOne(events, b => b.Resident, w)));
        Each(text, "historians: events a year, kept for ever", w => Bytes(HeadRoom * w * day.EventBytes * DaysOfYear));
        Each(text, "historians: raw samples of 730 days", w => Bytes(HeadRoom * w * (day.StoreBytes - day.EventBytes) * DaysOfSamples));
        Each(text, "one bridge writes to its disk in a day", w => Bytes(HeadRoom * OfOne(events, b => b.Written, w) * SecondsOfDay));
        Each(text, "network to the controllers, payload", w => Bits(HeadRoom * w * events.PayloadPerWasher));
        foreach (var (what, costs, series, bytes, lines) in ((string, CostFigures, double, double, double)[])[
            ("InfluxDB with events", events, day.EventSeries, day.EventInfluxBytes, day.EventLines),
            ("InfluxDB with samples too", samples, day.SampleSeries, day.SampleInfluxBytes, day.SampleLines)])
        {
            Each(text, $"{what}: series", w => Number(w * series));
            Each(text, $"{what}: lines a second", w => Number(HeadRoom * w * lines / SecondsOfDay));
            Each(text, $"{what}: network, line protocol", w => Bits(HeadRoom * w * costs.Influx.Received / costs.Influx.Washers));
            Each(text, $"{what}: cores", w => Cores(HeadRoom * w * costs.Influx.Cores / costs.Influx.Washers));
            Each(text, $"{what}: memory", w => Bytes(HeadRoom * (costs.Influx.ResidentBefore + (w * (costs.Influx.Resident - costs.Influx.ResidentBefore) / costs.Influx.Washers))));
            Each(text, $"{what}: disk a year", w => Bytes(HeadRoom * w * bytes * DaysOfYear));
        }
    }

    private static int BridgesFor(int washers) => (washers + WashersPerBridge - 1) / WashersPerBridge;

    private static double OfOne(CostFigures costs, Func<BridgeFigures, double> of, int washers)
    {
        var (first, each) = costs.Line(of);
        return first + (each * Math.Min(washers, WashersPerBridge));
    }

    private static double OfAll(CostFigures costs, Func<BridgeFigures, double> of, int washers)
    {
        var (first, each) = costs.Line(of);
        return HeadRoom * ((first * BridgesFor(washers)) + (each * washers));
    }

    private static void Each(StringBuilder text, string what, Func<int, string> of) => Row(text, [what, .. Sizes.Select(of)]);

    private static void Heading(StringBuilder text, string heading) => text.Append(text.Length > 0 ? "\n" : "").Append("### ").Append(heading).Append("\n\n");

    private static void Line(StringBuilder text, string line) => text.Append(line).Append('\n');

    private static void Row(StringBuilder text, params IEnumerable<string> cells) => text.Append("| ").AppendJoin(" | ", cells).Append(" |\n");

    private static void Rule(StringBuilder text, int columns) => Row(text, Enumerable.Repeat("---", columns));

    private static string Number(double value) => Math.Round(value).ToString("N0", CultureInfo.InvariantCulture);

    /// <summary>Machines have whole cores, but ten washers need no whole one.</summary>
    private static string Cores(double cores) => cores < 10 ? cores.ToString("0.0#", CultureInfo.InvariantCulture) : Number(cores);

    private static string Bits(double bytesPerSecond) => Scaled(bytesPerSecond * 8, "bit/s", "kbit/s", "Mbit/s", "Gbit/s");

    private static string Bytes(double bytes) => Scaled(bytes, "B", "kB", "MB", "GB", "TB", "PB");

    /// <summary>Two digits or three: more would claim more than was measured.</summary>
    private static string Scaled(double value, params string[] units)
    {
        var unit = 0;
        for (; value >= 1000 && unit < units.Length - 1; unit++)
        {
            value /= 1000;
        }

        return $"{value.ToString(value < 10 ? "0.0" : "0", CultureInfo.InvariantCulture)} {units[unit]}";
    }
}
