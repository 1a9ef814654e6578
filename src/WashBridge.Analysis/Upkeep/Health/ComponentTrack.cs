using System.Text.Json.Serialization;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>All that is remembered of one part.</summary>
internal sealed class ComponentTrack
{
    public required Component Component { get; init; }

    /// <summary>Its indices by name.</summary>
    public SortedDictionary<string, IndexTrack> Indices { get; init; } = new(StringComparer.Ordinal);

    /// <summary>Cycles since its reference began.</summary>
    public int Cycles { get; set; }

    /// <summary>Use since it was new, and cycles in which it was counted; see <see cref="UseCounter"/>.</summary>
    public double Use { get; set; }

    public int UseCycles { get; set; }

    /// <summary>When it was new is known: it was replaced while being watched.</summary>
    public bool IsAgeKnown { get; set; }

    /// <summary>Cycle of the reference at which it is looked at next.</summary>
    public int NextAt { get; set; }

    /// <summary>A signal concerns it: it is told of at once.</summary>
    public bool IsTouched { get; set; }

    /// <summary>The forecast that stands, when it was made, and in which cycle since the reference.</summary>
    public Forecast? Last { get; set; }

    public Instant LastAt { get; set; }

    public int LastCycles { get; set; }

    /// <summary>State of the last look, told or not.</summary>
    public ForecastState State { get; set; }

    [JsonIgnore]
    public string Key => Component.Key;

    public void RestartReference()
    {
        Cycles = 0;
        NextAt = 0;
        State = ForecastState.NotEnoughEvidence;
        foreach (var index in Indices.Values)
        {
            index.Restart();
        }
    }
}
