using System.Globalization;
using System.Text.RegularExpressions;
using WashBridge.Core.Records;
using WashBridge.Core.Sampling;

namespace WashBridge.Lots;

/// <summary>What is looked at in each keg of a sample, and by which plan; written into the record of the draw as one line, and read from it again.</summary>
internal sealed partial record SamplingPlan
{
    public required InspectionKind Kind { get; init; }

    /// <summary>A keg passes up to this value, in <see cref="Unit"/>; null: a person says whether it passes.</summary>
    public double? Limit { get; init; }

    public string Unit { get; init; } = "";

    /// <summary>One of the two is set.</summary>
    public ExactPlan? Exact { get; init; }

    public AttributePlan? Table { get; init; }

    /// <summary>Washing ran as usual, and the responsible person agrees with reduced inspection: only then may a run of good lots lead to it.</summary>
    public bool IsSteady { get; init; }

    /// <summary>Which kegs were the lot, such as those of a period; empty: not told.</summary>
    public string Kegs { get; init; } = "";

    public int SampleSize => Exact?.SampleSize ?? Table!.SampleSize;

    public int AcceptanceNumber => Exact?.AcceptanceNumber ?? Table!.AcceptanceNumber;

    public int RejectionNumber => Exact is null ? Table!.RejectionNumber : Exact.AcceptanceNumber + 1;

    /// <summary>The failure rate that it is about, 0 to 1.</summary>
    public double Rate => Exact?.ExcludedRate ?? (Table!.Aql / 100);

    public string Proves => Exact is null ? Proof.Of(Table!) : Proof.Of(Exact);

    /// <summary>What the plan does not say; to be shown with it.</summary>
    public IReadOnlyList<string> Caveats => Exact is null ? [.. Proof.Limits, Proof.AqlLimit] : Exact.Lot is null ? [.. Proof.Limits, Proof.ProcessLimit] : Proof.Limits;

    /// <summary>Such as <c>swab, at most 30 RLU; AQL 1 %, level II, normal inspection (ISO 2859-1 single sampling); washing is steady; of kegs washed ...</c>.</summary>
    public string Line => $"{Looked}; {(Table is { } table
        ? $"AQL {Proof.Percent(table.Aql / 100)}, level {table.Level}, {table.Inspection.ToString().ToLowerInvariant()} inspection (ISO 2859-1 single sampling){(IsSteady ? "; washing is steady" : "")}"
        : Excluding(Exact!))}{(Kegs.Length > 0 ? $"; of {Kegs}" : "")}";

    private string Looked => Kind switch
    {
        InspectionKind.SpearPull => "spear pull",
        InspectionKind.Swab => "swab",
        _ => "titration",
    } + (Limit is { } limit ? string.Create(CultureInfo.InvariantCulture, $", at most {limit:R} {Unit}") : "");

    private static string Excluding(ExactPlan exact)
    {
        var excluded = exact is { ExcludedKegs: { } kegs, Lot: { } lot } && exact.ExcludedRate * lot == kegs ? string.Create(CultureInfo.InvariantCulture, $"{kegs} kegs") : Proof.Percent(exact.ExcludedRate);
        return $"excludes {excluded} with {Proof.Percent(exact.Confidence)} confidence, {exact.AcceptanceNumber} may fail{(exact.Lot is null ? ", of the washer" : "")}";
    }

    /// <summary>The plan that a draw was made by; null: its line was written by something else.</summary>
    public static SamplingPlan? Of(LotSampled draw)
    {
        if (Form().Match(draw.Plan) is not { Success: true } match)
        {
            return null;
        }

        string? Part(string name) => match.Groups[name] is { Success: true, Value: var value } ? value : null;
        double Number(string name) => (double)decimal.Parse(Part(name)!, CultureInfo.InvariantCulture);
        try
        {
            return new SamplingPlan
            {
                Kind = Part("kind") switch { "spear pull" => InspectionKind.SpearPull, "swab" => InspectionKind.Swab, _ => InspectionKind.Titration },
                Limit = Part("limit") is { } limit ? double.Parse(limit, CultureInfo.InvariantCulture) : null,
                Unit = Part("unit") ?? "",
                Table = Part("aql") is null ? null : AttributePlan.Of(draw.Size, Number("aql"), Enum.Parse<InspectionLevel>(Part("level")!), Enum.Parse<Inspection>(Part("inspection")!, ignoreCase: true)),
                Exact = Part("aql") is not null ? null
                    : (Part("kegs"), Part("process")) switch
                    {
                        ({ } kegs, _) => ExactPlan.ForLot(draw.Size, int.Parse(kegs, CultureInfo.InvariantCulture), draw.AcceptanceNumber, Share("confidence")),
                        (_, not null) => ExactPlan.ForProcess(Share("rate"), draw.AcceptanceNumber, Share("confidence")),
                        _ => ExactPlan.ForLot(draw.Size, Share("rate"), draw.AcceptanceNumber, Share("confidence")),
                    },
                IsSteady = Part("steady") is not null,
                Kegs = Part("of") ?? "",
            };
        }
        catch (Exception wrong) when (wrong is SamplingException or FormatException or OverflowException)
        {
            return null;
        }

        double Share(string name) => (double)(decimal.Parse(Part(name)!, CultureInfo.InvariantCulture) / 100);
    }

    [GeneratedRegex(@"^(?<kind>spear pull|swab|titration)(, at most (?<limit>[-+0-9.E]+) (?<unit>[^;]+))?; (AQL (?<aql>[0-9.]+) %, level (?<level>I{1,3}), (?<inspection>normal|tightened|reduced) inspection \(ISO 2859-1 single sampling\)(?<steady>; washing is steady)?|excludes ((?<kegs>[0-9]+) kegs|(?<rate>[0-9.]+) %) with (?<confidence>[0-9.]+) % confidence, [0-9]+ may fail(?<process>, of the washer)?)(; of (?<of>.+))?$", RegexOptions.CultureInvariant)]
    private static partial Regex Form();
}
