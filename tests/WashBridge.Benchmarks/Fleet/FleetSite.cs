using System.Globalization;
using System.Text;
using WashBridge.Simulator;
using WashBridge.Simulator.Nodes;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>
/// The files of one bridge: the demonstration's north hall as often as there are washers, read at the intervals of the example (250 ms, 1 s, 10 s). Signals, recipe and
/// programme are the same by Modbus and by OPC UA.
/// </summary>
internal sealed class FleetSite(string id, string folder)
{
    public const string PkiFolder = "pki";

    /// <summary>Reads of a washer's groups in a second, as its file asks for them.</summary>
    public const double ReadsPerSecond = (1 / 0.25) + 1 + (1 / 10.0);

    private const string Groups = """
        poll-groups:
          - {group: 0, name: sequence, every: 250 ms}
          - {group: 1, name: measurements, every: 1 s}
          - {group: 2, name: settings, every: 10 s}
        """;

    private static readonly string Demo = Path.Combine(AppContext.BaseDirectory, "config", "demo");

    public string Id => id;

    public string File => Path.Combine(folder, id, "site.yaml");

    public string Store => Path.Combine(folder, id, "store.washdb");

    public static string WasherId(int number) => $"w-{number:0000}";

    /// <param name="washers">Number, port, and whether it speaks OPC UA.</param>
    /// <param name="httpPort">On which pages and metrics are.</param>
    /// <param name="influx">The server; null: nothing is forwarded.</param>
    /// <param name="samples">Whether it gets samples too.</param>
    public FleetSite Write(IReadOnlyList<(int Number, int Port, bool IsOpcUa)> washers, int httpPort, Uri? influx, bool samples)
    {
        var own = Directory.CreateDirectory(Path.Combine(folder, id)).FullName;
        foreach (var part in (string[])["tag-maps", "recipes"])
        {
            Directory.CreateDirectory(Path.Combine(own, part));
            foreach (var file in Directory.GetFiles(Path.Combine(Demo, part)))
            {
                System.IO.File.Copy(file, Path.Combine(own, part, Path.GetFileName(file)), overwrite: true);
            }
        }

        System.IO.File.WriteAllText(Path.Combine(own, "tag-maps", "nodes.yaml"), NodeMap());
        Directory.CreateDirectory(Path.Combine(own, "washers"));
        var north = System.IO.File.ReadAllText(Path.Combine(Demo, "washers", "north.yaml"));
        foreach (var (number, port, isOpcUa) in washers)
        {
            System.IO.File.WriteAllText(Path.Combine(own, "washers", $"{WasherId(number)}.yaml"), Washer(north, number, port, isOpcUa));
        }

        System.IO.File.WriteAllText(File, $$"""
            site: {{id}}
            title: Fleet {{id}}
            time-zone: UTC
            washers:
            {{string.Concat(washers.Select(w => $"  - washers/{WasherId(w.Number)}.yaml\n"))}}
            store:
              path: {{Store}}
              keep-samples: 730 d
            opc-ua: {pki: {{Path.Combine(folder, PkiFolder)}}, application-uri: "urn:washbridge:fleet"}
            http: {port: {{httpPort}}}
            {{(influx is null ? "" : $"influx:\n  - {{id: plant, url: \"{influx}\", api: 1, bucket: fleet, samples: {(samples ? "true" : "false")}}}\n")}}
            """);
        return this;
    }

    private static string Washer(string north, int number, int port, bool isOpcUa)
    {
        var text = Replace(north, "washer: north\n", $"washer: {WasherId(number)}\n");
        text = Replace(text, "title: North hall, two stations", $"title: Washer {number.ToString(CultureInfo.InvariantCulture)}");
        text = Replace(text, "  host: 127.0.0.1\n  port: 15021\n", isOpcUa ? $"  endpoint: opc.tcp://127.0.0.1:{port}\n" : $"  host: 127.0.0.1\n  port: {port}\n");
        text = isOpcUa ? Replace(text, "../tag-maps/north.yaml", "../tag-maps/nodes.yaml") : text;
        var groups = text.IndexOf("poll-groups:", StringComparison.Ordinal);
        var behind = text.IndexOf("\n\n", groups, StringComparison.Ordinal);
        return text[..groups] + Groups + text[behind..];
    }

    private static string Replace(string text, string old, string now) =>
        text.Contains(old, StringComparison.Ordinal) ? text.Replace(old, now, StringComparison.Ordinal) : throw new InvalidOperationException($"the demonstration's washer file has no '{old}'");

    /// <summary>The north hall's signals as the simulated OPC UA controllers name them.</summary>
    private static string NodeMap()
    {
        var map = new StringBuilder($"title: Fleet\nnamespaces:\n  washer: {NodeNames.NamespaceUri}\ntags:\n");
        foreach (var entry in new SimulatedWasher(FleetPlant.Options(1)).Map)
        {
            var signal = entry.Signal;
            map.Append(CultureInfo.InvariantCulture, $"  - {{signal: {signal.Name}, ");
            map.Append(signal.Station > 0 ? $"station: {signal.Station}, " : "");
            map.Append(signal.Name.StartsWith("setpoint.", StringComparison.Ordinal) ? "unit: s, " : "");
            map.Append(CultureInfo.InvariantCulture, $"group: {entry.Group}, node: ns=washer;s={NodeNames.IdOf(signal)}");
            map.Append(entry.DeadBand > 0 ? string.Create(CultureInfo.InvariantCulture, $", dead-band: {entry.DeadBand}") : "").Append("}\n");
        }

        return map.ToString();
    }
}
