using System.Globalization;
using System.Runtime.InteropServices;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>
/// What a washer costs where there are many: bridges of several sizes beside each other, first with events alone for InfluxDB and then with samples too, then a thousand washers
/// at once. All of it in real time against real servers on loopback; what a day leaves on the disks, in virtual time. Figures go to a file, from which the plan is made.
/// </summary>
internal sealed class FleetBench : IBench
{
    private const int OpcUaBridge = 50;
    private const int Bare = 50;
    private static readonly BridgeSize[] Sizes = [new(1, 0), new(10, 0), new(50, 0), new(250, 0), new(0, OpcUaBridge)];

    /// <summary>A thousand, every tenth by OPC UA.</summary>
    private static readonly BridgeSize[] Fleet = [.. Enumerable.Repeat(new BridgeSize(225, 25), 4)];

    /// <summary>All washers have begun by then, and most have ended a cycle.</summary>
    private static readonly TimeSpan WarmUp = TimeSpan.FromSeconds(200);

    public string Name => "fleet";

    public string What => "1,000 simulated washers, several bridges, one InfluxDB: cost of a washer, into FILE [window in seconds, 300 by default] [day, events, samples, run: only these; FILE.state is what 'day' leaves to the others]; '--plan FILE' prints the table of PLANNING.md";

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        if (arguments is ["--plan", var measured])
        {
            Console.Write(FleetPlan.Of(FleetFigures.Read(measured)));
            return;
        }

        if (arguments.Length == 0)
        {
            Console.WriteLine(What);
            return;
        }

        var file = arguments[0];
        var window = TimeSpan.FromSeconds(arguments.Length > 1 ? int.Parse(arguments[1], CultureInfo.InvariantCulture) : 300);
        var parts = arguments.Length > 2 ? arguments[2..] : ["day", "events", "samples", "run"];
        var state = file + ".state";
        var figures = FleetFigures.Read(file) with { Machine = $"{Environment.ProcessorCount} cores, {RuntimeInformation.OSDescription.Split('-')[0]}, {RuntimeInformation.FrameworkDescription}" };
        foreach (var part in parts)
        {
            figures = part switch
            {
                "day" => figures with { Day = await DayAsync(state, cancellation) },
                "events" => figures with { Events = await CostsAsync(samples: false, state, window, cancellation) },
                "samples" => figures with { Samples = await CostsAsync(samples: true, state, window, cancellation) },
                "run" => figures with { Run = await FleetAsync(state, window, cancellation) },
                _ => throw new ArgumentException($"no part '{part}'; there are day, events, samples, run"),
            };
            figures.Write(file);
        }
    }

    private static async Task<DayFigures> DayAsync(string stateFile, CancellationToken cancellation)
    {
        var folder = Directory.CreateTempSubdirectory("washbridge-fleet-").FullName;
        try
        {
            var (figures, state) = await FleetDay.MeasureAsync(folder, cancellation);
            await File.WriteAllTextAsync(stateFile, state, cancellation);
            Console.WriteLine(figures);
            return figures;
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static async Task<CostFigures> CostsAsync(bool samples, string stateFile, TimeSpan window, CancellationToken cancellation)
    {
        await using var trial = await FleetTrial.StartAsync(Sizes, samples, Bare, State(stateFile), cancellation);
        var (costs, plant) = await trial.MeasureAsync(WarmUp, window, cancellation);
        Console.WriteLine(samples ? "With samples for InfluxDB:" : "With events alone for InfluxDB:");
        Print(costs.Bridges, costs.Influx, plant);
        var read = costs.Bridges.Where(b => !b.IsOpcUa).Select(b => $"{b.ProcessorPerRead / costs.BareProcessorPerRead:0.0} ({b.Washers})");
        Console.WriteLine($"processor time a read, as a multiple of that of a minimal poll loop ({costs.BareProcessorPerRead * 1e6:0} us): {string.Join(", ", read)}");
        return costs;
    }

    private static async Task<RunFigures> FleetAsync(string stateFile, TimeSpan window, CancellationToken cancellation)
    {
        await using var trial = await FleetTrial.StartAsync(Fleet, samples: false, bare: 0, State(stateFile), cancellation);
        var (costs, plant) = await trial.MeasureAsync(WarmUp, window, cancellation);
        Print(costs.Bridges, costs.Influx, plant);
        var (truth, recorded, forwarded, stop) = await trial.CompareAsync(cancellation);
        var run = new RunFigures(costs.Seconds, costs.Bridges, Fleet.Sum(f => f.OpcUa), plant, costs.Influx, truth, recorded, forwarded, stop);
        Console.WriteLine($"cycles: {truth} ran, {recorded} recorded, {forwarded} in InfluxDB; {run.Cores:0.00} cores for all; longest stop {stop:0.0} s");
        return run;
    }

    private static string? State(string file) => File.Exists(file) ? File.ReadAllText(file) : throw new InvalidOperationException("the part 'day' comes first: it makes what the analysis has learnt");

    private static void Print(IReadOnlyList<BridgeFigures> bridges, InfluxFigures influx, double plant)
    {
        foreach (var b in bridges)
        {
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{b.Washers,4} by {(b.IsOpcUa ? "OPC UA" : "Modbus")}: ready in {b.ReadySeconds:0.0} s; {b.Cores:P1} of one core, {b.Resident / 1e6:0} MB, {b.Threads} threads, {b.Written / 1e3:0} kB/s to disk; reads {b.Reads:0.0}/s of {b.Wanted:0.0}, failed {b.Failed}, left out {b.LeftOut}, "
                + $"late {b.LateSeconds * 1e3:0.0} ms, committed after {b.CommitDelaySeconds * 1e3:0} ms; {b.Lines:0.0} lines/s, behind at most {b.LagSeconds:0.0} s; {b.Cycles} cycles"));
        }

        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"InfluxDB: {influx.Cores:P1} of one core, {influx.ResidentBefore / 1e6:0} to {influx.Resident / 1e6:0} MB, {influx.Written / 1e3:0} kB/s to disk, {influx.Received / 1e3:0.0} kB/s received in {influx.Requests:0.0} requests/s; simulated washers: {plant:P1} of one core"));
    }
}
