using System.Text.Json;

namespace WashBridge.Benchmarks.Analysis.Charts;

/// <summary>Rows of results that are written as they come, so that a run of hours can be stopped and gone on with.</summary>
internal sealed class KeptRows
{
    private readonly string _path = "";

    public KeptRows()
    {
    }

    private KeptRows(string path) => _path = path;

    public SpeedResult? Speed { get; set; }

    public List<PromiseResult> Promises { get; private init; } = [];

    public List<DelayResult> Delays { get; private init; } = [];

    public static KeptRows Of(string path) => File.Exists(path) && JsonSerializer.Deserialize(File.ReadAllText(path), ChartsResultsJson.Default.ChartsResults) is { } results
        ? new KeptRows(path) { Speed = results.Speed, Promises = results.Promises, Delays = results.Delays }
        : new KeptRows(path);

    public void Add(PromiseResult row)
    {
        Promises.Add(row);
        Save();
    }

    public void Add(DelayResult row)
    {
        Delays.Add(row);
        Save();
    }

    public void Save()
    {
        if (_path.Length > 0 && Speed is { } speed)
        {
            File.WriteAllText(_path, JsonSerializer.Serialize(new ChartsResults(speed, Promises, Delays), ChartsResultsJson.Default.ChartsResults));
        }
    }
}
