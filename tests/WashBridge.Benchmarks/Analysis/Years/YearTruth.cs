using WashBridge.Core.Recipes;
using WashBridge.Core.Time;
using WashBridge.Simulator.Truth;

namespace WashBridge.Benchmarks.Analysis.Years;

/// <summary>All that truly happened to a washer in a simulated year, and what its analysis has to be told.</summary>
public sealed record YearTruth
{
    /// <summary>Of this file; older ones are made anew.</summary>
    public const int CurrentFormat = 1;

    public required int Format { get; init; }

    public required int Seed { get; init; }

    public required string Washer { get; init; }

    public required int Stations { get; init; }

    /// <summary>Nothing was wrong all year; only what people do every day.</summary>
    public required bool IsFaultFree { get; init; }

    public required double DrainTimeoutSeconds { get; init; }

    /// <summary>What counts as failed where it can be told as a value of a figure, by its family: see YEARS.md.</summary>
    public required IReadOnlyDictionary<string, double> Limits { get; init; }

    /// <summary>Title of the programme, layout of the registers and the like, for tables by group.</summary>
    public required string Description { get; init; }

    /// <summary>True cycles that began before anybody read the washer.</summary>
    public required int WarmUp { get; init; }

    /// <summary>True cycles, those stopped or failed included.</summary>
    public required int Cycles { get; init; }

    /// <summary>By the true cycle's number less 1: the id under which it was recorded; null: before the record begins, or without a record of its own.</summary>
    public required IReadOnlyList<string?> CycleIds { get; init; }

    /// <summary>The recipes in force, each from a true cycle on.</summary>
    public required IReadOnlyList<RecipeInForce> Recipes { get; init; }

    public required IReadOnlyList<TrueEpisode> Episodes { get; init; }

    /// <summary>What people did that is no fault.</summary>
    public required IReadOnlyList<RoutineWork> Routine { get; init; }

    /// <summary>How worn everything was, every hundredth cycle.</summary>
    public required IReadOnlyList<HealthAt> Health { get; init; }
}

public sealed record RecipeInForce(int FromCycle, Recipe Recipe);

/// <param name="Cycle">The last true cycle before it.</param>
/// <param name="At">When.</param>
/// <param name="What">Such as <c>setpoint</c>, <c>recipe</c>, <c>replaced</c>, <c>inspected</c>.</param>
/// <param name="Subject">The setpoint or the component.</param>
/// <param name="Value">What it was set to.</param>
public sealed record RoutineWork(int Cycle, Instant At, string What, string Subject, double? Value = null);

public sealed record HealthAt(int Cycle, TrueHealth Health);
