using System.Text;
using System.Text.Json;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using ZstdSharp;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>A washer-year on disk: its events as compressed lines of JSON, and its truth. The truth is put in place last: with it the year is whole.</summary>
internal static class YearFiles
{
    private static readonly JsonSerializerOptions Options = new(JsonSerializerDefaults.Web) { DefaultIgnoreCondition = System.Text.Json.Serialization.JsonIgnoreCondition.WhenWritingNull };

    /// <summary>Seeds of the whole years in a folder, in order.</summary>
    public static IReadOnlyList<int> Seeds(string folder) =>
        [.. Directory.EnumerateFiles(folder, "*.truth.json.zst").Select(f => int.Parse(Path.GetFileName(f).Split('.')[0])).Order()];

    public static bool IsWhole(string folder, int seed) => File.Exists(TruthPath(folder, seed)) && ReadTruth(folder, seed).Format == YearTruth.CurrentFormat;

    public static YearTruth ReadTruth(string folder, int seed)
    {
        using var file = new DecompressionStream(File.OpenRead(TruthPath(folder, seed)), leaveOpen: false);
        return JsonSerializer.Deserialize<YearTruth>(file, Options) ?? throw new JsonException($"{TruthPath(folder, seed)}: no truth");
    }

    /// <summary>In the order of the log: figures of cycles, setpoints that changed, maintenance.</summary>
    public static IEnumerable<WashEvent> ReadEvents(string folder, int seed)
    {
        using var lines = new StreamReader(new DecompressionStream(File.OpenRead(EventsPath(folder, seed)), leaveOpen: false), Encoding.UTF8);
        while (lines.ReadLine() is { } line)
        {
            yield return WashJson.ReadEvent(line);
        }
    }

    public static StreamWriter CreateEvents(string folder, int seed) =>
        new(new CompressionStream(File.Create(EventsPath(folder, seed) + ".part"), 3, leaveOpen: false), new UTF8Encoding(false), 1 << 16) { NewLine = "\n" };

    /// <summary>To be called when the events are written and closed.</summary>
    public static void Finish(string folder, YearTruth truth)
    {
        var path = TruthPath(folder, truth.Seed);
        using (var file = new CompressionStream(File.Create(path + ".part"), 3, leaveOpen: false))
        {
            JsonSerializer.Serialize(file, truth, Options);
        }

        File.Move(EventsPath(folder, truth.Seed) + ".part", EventsPath(folder, truth.Seed), overwrite: true);
        File.Move(path + ".part", path, overwrite: true);
    }

    public static long Bytes(string folder, int seed) => new FileInfo(EventsPath(folder, seed)).Length + new FileInfo(TruthPath(folder, seed)).Length;

    private static string EventsPath(string folder, int seed) => Path.Combine(folder, $"{seed:D4}.events.jsonl.zst");

    private static string TruthPath(string folder, int seed) => Path.Combine(folder, $"{seed:D4}.truth.json.zst");
}
