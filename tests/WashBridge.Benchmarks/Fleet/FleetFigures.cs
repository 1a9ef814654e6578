using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>Everything that the bench has measured, as it is kept in a file: the plan is made from it.</summary>
internal sealed record FleetFigures
{
    private static readonly JsonSerializerOptions Form = new() { WriteIndented = true, PropertyNamingPolicy = JsonNamingPolicy.CamelCase, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull };

    /// <summary>Cores and system of the machine that measured.</summary>
    public string Machine { get; init; } = "";

    public DayFigures? Day { get; init; }

    public CostFigures? Events { get; init; }

    public CostFigures? Samples { get; init; }

    public RunFigures? Run { get; init; }

    public static FleetFigures Read(string file) => File.Exists(file) ? JsonSerializer.Deserialize<FleetFigures>(File.ReadAllText(file), Form)! : new FleetFigures();

    public void Write(string file) => File.WriteAllText(file, JsonSerializer.Serialize(this, Form) + "\n");
}

/// <summary>What a day of one washer leaves behind that washes without a pause; all of one washer.</summary>
/// <param name="Cycles">That it ran.</param>
/// <param name="Frames">Polls that were kept.</param>
/// <param name="StoreBytes">The historian's file, sealed, without the analysis' state.</param>
/// <param name="EventBytes">The same when raw samples have expired.</param>
/// <param name="StateBytes">The analysis' state once it holds all that it ever will.</param>
/// <param name="SealSeconds">Processor time for sealing it, hour by hour.</param>
/// <param name="EventLines">Lines to InfluxDB.</param>
/// <param name="EventInfluxBytes">On InfluxDB's disk, packed.</param>
/// <param name="EventSeries">Series in InfluxDB.</param>
/// <param name="SampleLines">Lines with samples, those of events included.</param>
/// <param name="SampleInfluxBytes">With samples, on InfluxDB's disk, packed.</param>
/// <param name="SampleSeries">Series with samples.</param>
internal sealed record DayFigures(double Cycles, double Frames, double StoreBytes, double EventBytes, double StateBytes, double SealSeconds, double EventLines, double EventInfluxBytes, double EventSeries, double SampleLines, double SampleInfluxBytes, double SampleSeries);

/// <summary>Bridges of several sizes side by side.</summary>
/// <param name="Seconds">Length of the window.</param>
/// <param name="Bridges">Smallest first; those by Modbus, then that by OPC UA.</param>
/// <param name="BareProcessorPerRead">Seconds of processor time for a read of a minimal poll loop in the same run.</param>
/// <param name="PayloadPerWasher">Bytes of Modbus a second between a bridge and one washer, both ways, without TCP/IP.</param>
/// <param name="Influx">The server.</param>
internal sealed record CostFigures(double Seconds, IReadOnlyList<BridgeFigures> Bridges, double BareProcessorPerRead, double PayloadPerWasher, InfluxFigures Influx)
{
    /// <summary>Of a bridge by Modbus: what it costs before the first washer, and each washer more. Least squares.</summary>
    public (double Fixed, double Each) Line(Func<BridgeFigures, double> of)
    {
        var points = Bridges.Where(b => !b.IsOpcUa).Select(b => (X: (double)b.Washers, Y: of(b))).ToList();
        var (x, y) = (points.Average(p => p.X), points.Average(p => p.Y));
        var each = points.Sum(p => (p.X - x) * (p.Y - y)) / points.Sum(p => (p.X - x) * (p.X - x));
        return (y - (each * x), each);
    }
}

/// <summary>One bridge over a window.</summary>
/// <param name="Washers">That it reads.</param>
/// <param name="IsOpcUa">By OPC UA; else by Modbus TCP.</param>
/// <param name="ReadySeconds">From its start until every washer is read.</param>
/// <param name="Cores">Processor time as a share of one core.</param>
/// <param name="Resident">Bytes of memory at the end.</param>
/// <param name="Threads">At the end.</param>
/// <param name="Written">Bytes a second that it caused to be written to the disk.</param>
/// <param name="Reads">A second; by OPC UA, messages.</param>
/// <param name="Wanted">Reads a second that its files ask for; 0 by OPC UA, where the controller tells.</param>
/// <param name="Failed">Reads, or interruptions, in the window.</param>
/// <param name="LeftOut">Polls left out because the one before still ran.</param>
/// <param name="LateSeconds">How late a poll began after it was due, in the mean.</param>
/// <param name="CommitDelaySeconds">Reply received to frame committed, in the mean.</param>
/// <param name="Lines">A second to InfluxDB.</param>
/// <param name="LagSeconds">The longest that a follower was found behind.</param>
/// <param name="Cycles">That ended in the window.</param>
internal sealed record BridgeFigures(
    int Washers, bool IsOpcUa, double ReadySeconds, double Cores, double Resident, int Threads, double Written, double Reads, double Wanted, double Failed, double LeftOut, double LateSeconds, double CommitDelaySeconds, double Lines, double LagSeconds, double Cycles)
{
    /// <summary>Seconds of processor time for all that a read brings with it.</summary>
    [JsonIgnore]
    public double ProcessorPerRead => Cores / Reads;
}

/// <summary>InfluxDB over a window.</summary>
/// <param name="Washers">That it was told of.</param>
/// <param name="Cores">Processor time as a share of one core.</param>
/// <param name="ResidentBefore">Bytes of memory before anything was written.</param>
/// <param name="Resident">Bytes of memory at the end.</param>
/// <param name="Written">Bytes a second that it caused to be written to the disk.</param>
/// <param name="Received">Bytes of line protocol a second.</param>
/// <param name="Requests">A second.</param>
internal sealed record InfluxFigures(int Washers, double Cores, double ResidentBefore, double Resident, double Written, double Received, double Requests);

/// <summary>The whole fleet at once.</summary>
/// <param name="Seconds">Length of the window.</param>
/// <param name="Bridges">All of them; washers by OPC UA are told by <paramref name="OpcUaWashers"/>.</param>
/// <param name="OpcUaWashers">Of all bridges together.</param>
/// <param name="PlantCores">What the simulated washers took, as a share of one core.</param>
/// <param name="Influx">The server.</param>
/// <param name="TrueCycles">Cycles that the washers ran from beginning to end while they were read.</param>
/// <param name="Recorded">Of these, in the historians.</param>
/// <param name="Forwarded">Of these, in InfluxDB.</param>
/// <param name="StopSeconds">The longest that a bridge took to stop.</param>
internal sealed record RunFigures(double Seconds, IReadOnlyList<BridgeFigures> Bridges, int OpcUaWashers, double PlantCores, InfluxFigures Influx, int TrueCycles, int Recorded, int Forwarded, double StopSeconds)
{
    [JsonIgnore]
    public double Cores => Bridges.Sum(b => b.Cores) + Influx.Cores + PlantCores;
}
