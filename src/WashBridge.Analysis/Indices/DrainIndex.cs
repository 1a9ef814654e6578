using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Features;

namespace WashBridge.Analysis.Indices;

/// <summary>How long a station's drains took in one cycle, as a ratio to what its reference lets expect of the liquid delivered.</summary>
/// <param name="Ratio">1: as in the reference; 1.1: a tenth longer.</param>
/// <param name="Uncertainty">Standard uncertainty of this cycle's ratio as a measurement.</param>
/// <param name="Systematic">Standard uncertainty that all cycles with these litres share: 0 with the litres of the reference, larger the further a recipe is from it.</param>
/// <param name="ExtraSeconds">By how much a drain took longer than expected, mean over the drains.</param>
/// <param name="Drains">Drains that it is made of.</param>
/// <param name="DrainsByLitres">Those of them whose liquid is known; the others hold for the reference's recipe only.</param>
public readonly record struct DrainIndexValue(double Ratio, double Uncertainty, double Systematic, double ExtraSeconds, int Drains, int DrainsByLitres);

/// <summary>
/// The drain index of one station: the first cycles are its reference and teach how drain time follows from litres (<c>t = a + b litres</c>, with an offset for
/// each phase as far as there is evidence); every later cycle gives the weighted mean of its drains' times over those expected. A recipe that delivers more
/// liquid does not move it, a clogging valve does.
/// </summary>
public sealed class DrainIndex
{
    /// <summary>Cycles from which it learns.</summary>
    public const int ReferenceCycles = 50;

    private const int MostDrains = 64;
    private Dictionary<string, List<DrainReading>>? _learning = [];
    private DrainModel? _model;
    private int _cycles;

    public DrainIndex(int station)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(station, 1);
        ArgumentOutOfRangeException.ThrowIfGreaterThan(station, 8);
        Station = station;
    }

    public int Station { get; }

    /// <summary>Name of the figure, and its key: <c>drain-index@2</c>.</summary>
    public const string Name = "drain-index";

    public string Key => Feature.KeyOf(Name, Station);

    public bool IsLearning => _model is null;

    /// <summary>Cycles learnt from so far.</summary>
    public int LearntCycles => _cycles;

    /// <summary>Seconds that a drain takes without liquid; 0 while learning.</summary>
    public double FixedSeconds => _model?.Fixed ?? 0;

    /// <summary>0 while learning, and where litres are not known.</summary>
    public double SecondsPerLitre => _model?.SecondsPerLitre ?? 0;

    /// <summary>Takes the next cycle.</summary>
    /// <returns>Null: still learning, not a completed cycle, or no drain that can be compared.</returns>
    public DrainIndexValue? Accept(CycleFeatures features)
    {
        ArgumentNullException.ThrowIfNull(features);
        if (features.Outcome != CycleOutcome.Completed)
        {
            return null;
        }

        var readings = DrainReading.Of(features, Station);
        if (_model is not null)
        {
            return Compare(readings);
        }

        if (readings.Count > 0)
        {
            Learn(readings);
        }

        return null;
    }

    /// <summary>The valve or its sensor is another, or was cleaned: learns anew.</summary>
    public void Restart()
    {
        _learning = [];
        _model = null;
        _cycles = 0;
    }

    /// <summary>All that is remembered, as JSON.</summary>
    public string Snapshot() => JsonSerializer.Serialize(new DrainIndexState(_cycles, _model?.Norms, _learning), IndicesJson.Default.DrainIndexState);

    /// <exception cref="JsonException"><paramref name="snapshot"/> is not of a drain index.</exception>
    public void Restore(string snapshot)
    {
        var state = JsonSerializer.Deserialize(snapshot, IndicesJson.Default.DrainIndexState) ?? throw new JsonException("a snapshot cannot be null");
        _cycles = state.Cycles;
        _model = state.Norms is null ? null : DrainModel.From(state.Norms);
        _learning = state.Learning;
    }

    private void Learn(List<DrainReading> readings)
    {
        foreach (var reading in readings)
        {
            if (_learning!.TryGetValue(reading.Name, out var list))
            {
                list.Add(reading);
            }
            else if (_learning.Count < MostDrains)
            {
                _learning.Add(reading.Name, [reading]);
            }
        }

        if (++_cycles >= ReferenceCycles)
        {
            _model = DrainModel.Learn(_learning!);
            _learning = null;
        }
    }

    private DrainIndexValue? Compare(List<DrainReading> readings)
    {
        double sum = 0, weights = 0, variance = 0, systematic = 0, extra = 0;
        var (drains, byLitres) = (0, 0);
        foreach (var reading in readings)
        {
            if (_model!.Expected(reading.Name, reading.Litres) is not { } expected || expected <= 0.1)
            {
                continue;
            }

            // A drain counts by how well its time is known and how little it scatters.
            var spread = _model.Norms.TryGetValue(reading.Name, out var norm) ? norm.Spread : Math.Max(reading.Uncertainty, _model.OffsetSpread);
            var scatter = Math.Max(Math.Max(spread, reading.Uncertainty), 1e-3) / expected;
            var weight = 1 / (scatter * scatter);
            var perLitre = double.IsFinite(reading.Litres) ? _model.SecondsPerLitre * reading.LitresUncertainty : 0;
            sum += weight * reading.Seconds / expected;
            weights += weight;
            variance += weight * weight * ((reading.Uncertainty * reading.Uncertainty) + (perLitre * perLitre)) / (expected * expected);
            var shared = _model.Systematic(reading.Name, reading.Litres);
            systematic += weight * (double.IsNaN(shared) ? 0 : shared / expected);
            extra += reading.Seconds - expected;
            drains++;
            byLitres += double.IsNaN(shared) ? 0 : 1;
        }

        return drains == 0 ? null : new DrainIndexValue(sum / weights, Math.Sqrt(variance) / weights, systematic / weights, extra / drains, drains, byLitres);
    }
}

/// <summary>What a drain index remembers.</summary>
internal sealed record DrainIndexState(int Cycles, Dictionary<string, DrainNorm>? Norms, Dictionary<string, List<DrainReading>>? Learning);

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals)]
[JsonSerializable(typeof(DrainIndexState))]
internal sealed partial class IndicesJson : JsonSerializerContext;
