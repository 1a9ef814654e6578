using System.Text.Json;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Drift;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Time;

namespace WashBridge.Analysis.Setpoints;

/// <summary>
/// Holds what the controller is set to against the approved recipe, at every change: each departure and each return is told once, with the bounds of the change.
/// </summary>
/// <remarks>
/// Which recipe is in force follows from the programme, and a controller tells its programme with a cycle. Selecting another programme changes settings before its
/// first cycle runs: a value that some recipe of the washer approves therefore waits until a cycle that began after the change has ended. What no recipe
/// approves is told at once. What is approved is that of the version in force when a setting was changed, or when a cycle began. A deviation that is there when watching begins, or that comes with another recipe or version, has the bounds of the start of the cycle in which it was found.
/// </remarks>
public sealed class SetpointWatch : IWatch
{
    private const string Prefix = "setpoint.";

    private readonly ApprovedRecipes _recipes;
    private SetpointWatchState _state = new();
    private RecipeBook _book;

    public SetpointWatch(ApprovedRecipes recipes)
    {
        ArgumentNullException.ThrowIfNull(recipes);
        _recipes = recipes;
        _book = RecipeBook.Of(recipes.All, []);
    }

    public string Name => "setpoints";

    public IReadOnlyList<WashEvent> Accept(WashEvent washEvent) => washEvent switch
    {
        SetpointChanged changed => Take(changed),
        CycleEnded ended => Take(ended.Cycle),
        RecipeActed acted => Take(acted),
        _ => [],
    };

    public string Snapshot() => JsonSerializer.Serialize(_state, SetpointJson.Default.SetpointWatchState);

    public void Restore(string snapshot)
    {
        _state = JsonSerializer.Deserialize(snapshot, SetpointJson.Default.SetpointWatchState) ?? throw new JsonException("the snapshot of the setpoints cannot be null");
        _book = RecipeBook.Of(_recipes.All, _state.Acts.Select(WashJson.ReadEvent).OfType<RecipeActed>());
    }

    /// <summary>A version that comes into force changes nothing by itself: the next cycle that begins under it is held against it.</summary>
    private IReadOnlyList<WashEvent> Take(RecipeActed acted)
    {
        if (_recipes.All.Any(r => r.Id == acted.RecipeId))
        {
            _state.Acts.Add(WashJson.Write(acted));
            _book = _book.With(acted);
        }

        return [];
    }

    private IReadOnlyList<WashEvent> Take(SetpointChanged changed)
    {
        var name = NameOf(changed.Setpoint);
        var state = StateOf(name);
        state.Value = changed.NewValue;
        state.Open = new SetpointChange(changed.Id, changed.At, changed.CycleId);
        state.ChangedAt = changed.At;
        var recipe = _book.InForce(_recipes.For(_state.Programme), changed.At.Earliest);
        if (!recipe.Setpoints.TryGetValue(name, out var approved) || (!approved.Holds(changed.NewValue) && IsApprovedElsewhere(name, changed.NewValue, changed.At.Earliest)))
        {
            return [];
        }

        var found = new List<WashEvent>();
        Compare(changed.Washer, name, state, recipe, state.Open, found);
        return found;
    }

    private List<WashEvent> Take(CycleRecord cycle)
    {
        _state.Programme = cycle.Programme ?? _state.Programme;
        var recipe = _book.InForce(_recipes.For(_state.Programme), cycle.Start.Earliest.Wall);
        foreach (var (signal, value) in cycle.Setpoints.OrderBy(s => s.Key, StringComparer.Ordinal))
        {
            TakeUp(NameOf(signal), value, cycle);
        }

        var found = new List<WashEvent>();
        var start = new SetpointChange(cycle.Id, cycle.Start.Wall, cycle.Id);
        foreach (var (name, state) in _state.Setpoints)
        {
            // What was changed after this cycle began may be meant for the next programme.
            if (state.Open is { } open && open.At.Latest > cycle.Start.Earliest.Wall)
            {
                continue;
            }

            Compare(cycle.Washer, name, state, recipe, state.Open ?? start, found);
        }

        return found;
    }

    /// <summary>A value that is new, or was changed while nobody told, from what the controller was set to as the cycle started.</summary>
    private void TakeUp(string name, double value, CycleRecord cycle)
    {
        if (!_state.Setpoints.TryGetValue(name, out var state))
        {
            StateOf(name).Value = value;
        }
        else if (state.Value != value && (state.ChangedAt is not { } at || at.Latest <= cycle.Start.Earliest.Wall))
        {
            state.Value = value;
            state.Open = null;
            state.ChangedAt = cycle.Start.Wall;
        }
    }

    /// <summary>Tells the difference from what was told before; nothing where there is none.</summary>
    private static void Compare(string washer, string name, SetpointState state, Recipe recipe, SetpointChange change, List<WashEvent> found)
    {
        state.Open = null;
        if (recipe.Setpoints.TryGetValue(name, out var approved) && !approved.Holds(state.Value))
        {
            if (state.ToldSet != state.Value || state.ToldApproved != approved.Value)
            {
                (state.ToldSet, state.ToldApproved) = (state.Value, approved.Value);
                var finding = new SetpointFinding(name, approved.Unit, approved.Value, state.Value, recipe.Id, recipe.Version);
                found.Add(new SetpointDeviated { Id = $"{change.EventId}/{name}/deviated", Washer = washer, At = change.At, CycleId = change.CycleId, Finding = finding });
            }
        }
        else if (state.ToldSet is not null)
        {
            (state.ToldSet, state.ToldApproved) = (null, null);
            found.Add(new SetpointConformed { Id = $"{change.EventId}/{name}/conformed", Washer = washer, At = change.At, CycleId = change.CycleId, Setpoint = name });
        }
    }

    private bool IsApprovedElsewhere(string name, double value, Instant at) => _recipes.All.Any(r => _book.InForce(r, at).Setpoints.TryGetValue(name, out var approved) && approved.Holds(value));

    private SetpointState StateOf(string name)
    {
        if (!_state.Setpoints.TryGetValue(name, out var state))
        {
            _state.Setpoints[name] = state = new SetpointState();
        }

        return state;
    }

    private static string NameOf(string signal) => signal.StartsWith(Prefix, StringComparison.Ordinal) ? signal[Prefix.Length..] : signal;
}
