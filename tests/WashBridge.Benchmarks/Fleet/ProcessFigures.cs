using System.Globalization;

namespace WashBridge.Benchmarks.Fleet;

/// <summary>What Linux tells of a process in /proc.</summary>
/// <param name="Processor">Seconds of processor time since it began, in user mode and in the kernel.</param>
/// <param name="Resident">Bytes of memory that it holds.</param>
/// <param name="Written">Bytes that it caused to be written to the disk.</param>
/// <param name="Threads">How many it has.</param>
internal readonly record struct ProcessFigures(double Processor, long Resident, long Written, int Threads)
{
    /// <summary>proc(5): in clock ticks, of which Linux shows 100 a second to programs.</summary>
    private const double TicksPerSecond = 100;

    public static ProcessFigures Of(int process)
    {
        // The name in parentheses may hold spaces: fields are counted behind it, where the third of proc(5) comes first.
        var stat = File.ReadAllText($"/proc/{process}/stat");
        var fields = stat[(stat.LastIndexOf(')') + 2)..].Split(' ');
        return new ProcessFigures(
            (Number(fields[11]) + Number(fields[12])) / TicksPerSecond,
            Line($"/proc/{process}/status", "VmRSS:") * 1024,
            Line($"/proc/{process}/io", "write_bytes:"),
            (int)Line($"/proc/{process}/status", "Threads:"));
    }

    private static long Line(string file, string name) =>
        Number(File.ReadLines(file).First(l => l.StartsWith(name, StringComparison.Ordinal)).Split((char[])[' ', '\t'], StringSplitOptions.RemoveEmptyEntries)[1]);

    private static long Number(string text) => long.Parse(text, CultureInfo.InvariantCulture);
}
