using WashBridge.Core.Verdicts;

namespace WashBridge.Core.Recipes.Book;

/// <summary>What is other in a requirement, and which way it goes.</summary>
internal sealed record RequirementChange(string Text, Direction Direction);

/// <summary>Two forms of one requirement, field by field.</summary>
internal static class RequirementDifference
{
    public static IReadOnlyList<RequirementChange> Between(Requirement left, Requirement right)
    {
        var changes = new List<RequirementChange>();
        if (left.Title != right.Title)
        {
            changes.Add(new RequirementChange($"is called '{right.Title}' instead of '{left.Title}'", Direction.None));
        }

        changes.AddRange((left, right) switch
        {
            (ContactTime a, ContactTime b) => Contact(a, b),
            (StepTime a, StepTime b) => Step(a, b),
            (TimeBeyond a, TimeBeyond b) => Beyond(a, b),
            (PassCount a, PassCount b) => [.. Place(a.Phase, b.Phase), .. Count("passes", a.AtLeast, b.AtLeast)],
            (SwingCount a, SwingCount b) => [.. Place(a.Phase, b.Phase), .. Count("pressure swings", a.AtLeast, b.AtLeast)],
            (PhaseOrder a, PhaseOrder b) => Phases(a.Phases, b.Phases, Directions.MoreOf(a.Phases, b.Phases)),
            (DrainLimit a, DrainLimit b) => [.. Time("at most", a.AtMost, b.AtMost, isLeast: false), .. Phases(a.Phases, b.Phases, DrainPhases(a.Phases, b.Phases))],
            (ResidualOxygen a, ResidualOxygen b) => Oxygen(a, b),
            (ThermalDose a, ThermalDose b) => Dose(a, b),
            _ => [new RequirementChange("is of another kind", Direction.Unclear)],
        });
        return changes;
    }

    private static IEnumerable<RequirementChange> Contact(ContactTime a, ContactTime b) =>
    [
        .. a.From == b.From ? [] : Other($"begins with {Wording.Of(b.From)} instead of {Wording.Of(a.From)}"),
        .. a.To == b.To ? [] : Other($"ends with {Wording.Of(b.To)} instead of {Wording.Of(a.To)}"),
        .. Time("at least", a.AtLeast, b.AtLeast, isLeast: true),
        .. Time("at most", a.AtMost, b.AtMost, isLeast: false),
        .. a.EveryPass == b.EveryPass ? [] : One(b.EveryPass ? "every pass must have it instead of one" : "one pass must have it instead of every one", b.EveryPass ? Direction.Stricter : Direction.Looser),
    ];

    private static IEnumerable<RequirementChange> Step(StepTime a, StepTime b) =>
    [
        .. Place(a.Phase, b.Phase),
        .. a.Step == b.Step ? [] : Other($"is of {Wording.Of(b.Step)} instead of {Wording.Of(a.Step)}"),
        .. Time("at least", a.AtLeast, b.AtLeast, isLeast: true),
        .. Time("at most", a.AtMost, b.AtMost, isLeast: false),
        .. a.Total == b.Total ? [] : One(b.Total ? "counts all passes together instead of each alone" : "counts each pass alone instead of all together", Total(b)),
    ];

    /// <summary>Together, passes reach a least time more easily, and a greatest time too.</summary>
    private static Direction Total(StepTime right) => (right.AtLeast, right.AtMost) switch
    {
        ({ }, null) => right.Total ? Direction.Looser : Direction.Stricter,
        (null, { }) => right.Total ? Direction.Stricter : Direction.Looser,
        _ => Direction.Unclear,
    };

    private static IEnumerable<RequirementChange> Beyond(TimeBeyond a, TimeBeyond b)
    {
        var unit = RecipeWords.UnitOf(b.Signal);
        var value = a.Below != b.Below || a.Signal != b.Signal ? Direction.Unclear : b.Below ? Directions.Less(a.Value, b.Value) : Directions.More(a.Value, b.Value);
        return
        [
            .. a.Signal == b.Signal ? [] : Other($"watches {b.Signal} instead of {a.Signal}"),
            .. a.Value == b.Value && a.Below == b.Below ? [] : One($"at or {Side(b)} {Wording.Quantity(b.Value, unit)} instead of at or {Side(a)} {Wording.Quantity(a.Value, RecipeWords.UnitOf(a.Signal))}", value),
            .. Time("at least", a.AtLeast, b.AtLeast, isLeast: true),

            // Time in more phases counts.
            .. Phases(a.Phases, b.Phases, Directions.Opposite(AnyOrder(a.Phases, b.Phases))),
            .. Sensor(a.SensorUncertainty, b.SensorUncertainty, RecipeWords.UncertaintyUnit(b.Signal)),
        ];
    }

    private static string Side(TimeBeyond r) => r.Below ? "below" : "above";

    private static IEnumerable<RequirementChange> Oxygen(ResidualOxygen a, ResidualOxygen b) =>
    [
        .. Place(a.Phase, b.Phase),
        .. Fraction("at most", a.AtMost, b.AtMost, Directions.Less(a.AtMost, b.AtMost)),
        .. Fraction("before the purge", a.Initial, b.Initial, Directions.More(a.Initial, b.Initial)),
        .. Fraction("in the purge gas", a.InPurgeGas, b.InPurgeGas, Directions.More(a.InPurgeGas, b.InPurgeGas)),
        .. Sensor(a.SensorUncertainty, b.SensorUncertainty, "bar"),
    ];

    private static IEnumerable<RequirementChange> Dose(ThermalDose a, ThermalDose b)
    {
        var unit = RecipeWords.DoseUnit(b.Method);
        return
        [
            .. a.Method == b.Method ? [] : Other($"counts {RecipeWords.DoseName(b.Method)} instead of {RecipeWords.DoseName(a.Method)}"),
            .. a.Signal == b.Signal ? [] : Other($"watches {b.Signal} instead of {a.Signal}"),
            .. a.AtLeast == b.AtLeast && a.Method == b.Method ? [] : One(
                $"at least {Wording.Quantity(b.AtLeast, unit)} instead of {Wording.Quantity(a.AtLeast, RecipeWords.DoseUnit(a.Method))}", a.Method == b.Method ? Directions.More(a.AtLeast, b.AtLeast) : Direction.Unclear),
            .. Phases(a.Phases, b.Phases, Directions.Opposite(AnyOrder(a.Phases, b.Phases))),
            .. Sensor(a.SensorUncertainty, b.SensorUncertainty, "K"),
        ];
    }

    private static IEnumerable<RequirementChange> Time(string words, TimeSpan? left, TimeSpan? right, bool isLeast) => (left, right) switch
    {
        (null, null) => [],
        (null, { } added) => One($"{words} {RecipeWords.Seconds(added)}, which was not asked before", Direction.Stricter),
        ({ } gone, null) => One($"no longer {words} {RecipeWords.Seconds(gone)}", Direction.Looser),
        ({ } a, { } b) when a == b => [],
        ({ } a, { } b) => One($"{words} {RecipeWords.Seconds(b)} instead of {RecipeWords.Seconds(a)}", isLeast ? Directions.More(a.TotalSeconds, b.TotalSeconds) : Directions.Less(a.TotalSeconds, b.TotalSeconds)),
    };

    private static IEnumerable<RequirementChange> Count(string what, int left, int right) =>
        left == right ? [] : One($"at least {right} {what} instead of {left}", Directions.More(left, right));

    private static IEnumerable<RequirementChange> Fraction(string words, double left, double right, Direction direction) =>
        left == right ? [] : One($"{words} {RecipeWords.Fraction(right)} instead of {RecipeWords.Fraction(left)}", direction);

    private static IEnumerable<RequirementChange> Sensor(double left, double right, string unit) =>
        left == right ? [] : One($"a standard uncertainty of the sensor of {Wording.Quantity(right, unit)} instead of {Wording.Quantity(left, unit)}", Directions.More(left, right));

    private static IEnumerable<RequirementChange> Place(string left, string right) => left == right ? [] : Other($"is of {right} instead of {left}");

    private static IEnumerable<RequirementChange> Phases(IReadOnlyList<string> left, IReadOnlyList<string> right, Direction direction) =>
        left.SequenceEqual(right) ? [] : One($"is of {List(right)} instead of {List(left)}", direction);

    private static string List(IReadOnlyList<string> phases) => phases.Count == 0 ? "all phases" : Wording.List(phases);

    /// <summary>Where their order says nothing.</summary>
    private static Direction AnyOrder(IReadOnlyList<string> left, IReadOnlyList<string> right) => Directions.MoreOf([.. left.Order(StringComparer.Ordinal)], [.. right.Order(StringComparer.Ordinal)]);

    /// <summary>None named is all of them.</summary>
    private static Direction DrainPhases(IReadOnlyList<string> left, IReadOnlyList<string> right) =>
        (left.Count, right.Count) switch
        {
            (0, 0) => Direction.None,
            (0, _) => Direction.Looser,
            (_, 0) => Direction.Stricter,
            _ => AnyOrder(left, right),
        };

    private static IEnumerable<RequirementChange> One(string text, Direction direction) => [new RequirementChange(text, direction)];

    private static IEnumerable<RequirementChange> Other(string text) => One(text, Direction.Unclear);
}
