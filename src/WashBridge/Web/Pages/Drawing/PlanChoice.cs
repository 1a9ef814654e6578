using WashBridge.Core.Records;
using WashBridge.Core.Sampling;
using WashBridge.Lots;
using WashBridge.Orders;
using WashBridge.Web.Trends;

namespace WashBridge.Web.Pages.Drawing;

/// <summary>A plan as a form has it, in the words that were typed.</summary>
public sealed record PlanChoice
{
    /// <summary><c>spear-pull</c>, <c>swab</c> or <c>titration</c>.</summary>
    public string Kind { get; init; } = "spear-pull";

    public string? Limit { get; init; }

    public string? Unit { get; init; }

    /// <summary><c>exact</c> or <c>table</c>.</summary>
    public string By { get; init; } = "exact";

    /// <summary>A failure rate such as <c>5%</c>, or a number of failing kegs.</summary>
    public string Exclude { get; init; } = "5%";

    public string Confidence { get; init; } = "95%";

    public string Accept { get; init; } = "0";

    /// <summary><c>lot</c> or <c>washer</c>.</summary>
    public string About { get; init; } = "lot";

    public string Aql { get; init; } = "1.0";

    public string Level { get; init; } = "II";

    public string Inspection { get; init; } = "normal";

    public bool Steady { get; init; }

    /// <summary>The plan for a lot of so many kegs.</summary>
    /// <exception cref="SamplingException">An entry that cannot be: the message says what was found and what is allowed.</exception>
    /// <exception cref="TellingException">The same.</exception>
    internal SamplingPlan For(int kegs)
    {
        var kind = (InspectionKind)TellingChecks.OneOf("what is looked at", Kind, Telling.Inspections);
        double? limit = kind == InspectionKind.SpearPull ? null : Numbers.Read("limit", Limit) ?? throw new TellingException("limit: found nothing; allowed: the highest value with which a keg passes, such as 30");
        var unit = kind == InspectionKind.SpearPull ? "" : TellingChecks.Text("unit", Unit, TellingChecks.LongestName, "the unit of the limit is needed");
        if (unit.Contains(';', StringComparison.Ordinal))
        {
            throw new TellingException($"unit: found '{unit}'; allowed: a unit without a semicolon");
        }

        var isTable = TellingChecks.OneOf("plan", By, ["exact", "table"]) == 1;
        return new SamplingPlan
        {
            Kind = kind,
            Limit = limit,
            Unit = unit,
            Exact = isTable ? null : Exactly(kegs),
            Table = isTable ? AttributePlan.Of(kegs, TableAql, TableLevel, Enum.Parse<Inspection>(TellingChecks.OneOf("inspection", Inspection, Inspections) is var at ? Inspections[at] : "", ignoreCase: true)) : null,
            IsSteady = isTable && Steady,
        };
    }

    internal static IReadOnlyList<string> Inspections { get; } = ["normal", "tightened", "reduced"];

    /// <exception cref="SamplingException">It is no number.</exception>
    internal double TableAql => Entry.Aql(Aql, "AQL");

    /// <exception cref="TellingException">There is no such level.</exception>
    internal InspectionLevel TableLevel => (InspectionLevel)TellingChecks.OneOf("level", Level, Enum.GetNames<InspectionLevel>());

    /// <summary>As the part of an address behind the question mark.</summary>
    internal string Query => string.Join('&', new (string Name, string? Value)[]
    {
        ("kind", Kind), ("limit", Limit), ("unit", Unit), ("plan", By), ("exclude", Exclude), ("confidence", Confidence), ("accept", Accept), ("about", About), ("aql", Aql), ("level", Level), ("inspection", Inspection), ("steady", Steady ? "true" : null),
    }.Where(p => !string.IsNullOrEmpty(p.Value)).Select(p => $"{p.Name}={Uri.EscapeDataString(p.Value!)}"));

    private ExactPlan Exactly(int kegs)
    {
        var (accept, confidence) = (Entry.Count("may fail", Accept), Entry.Percent("confidence", Confidence));
        var ofWasher = TellingChecks.OneOf("about", About, ["lot", "washer"]) == 1;
        return (Entry.Excluded(Exclude, "to exclude"), ofWasher) switch
        {
            (({ } rate, _), true) => ExactPlan.ForProcess(rate, accept, confidence),
            (({ } rate, _), _) => ExactPlan.ForLot(kegs, rate, accept, confidence),
            ((_, { } failing), false) => ExactPlan.ForLot(kegs, failing, accept, confidence),
            _ => throw new SamplingException($"to exclude: found a number of kegs ({Exclude}) for a statement about the washer; allowed: a share such as 1%"),
        };
    }
}
