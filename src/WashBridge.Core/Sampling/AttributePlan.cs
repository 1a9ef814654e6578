using System.Globalization;

namespace WashBridge.Core.Sampling;

/// <summary>General inspection level: how much is inspected for a lot's size. II unless something else was agreed.</summary>
public enum InspectionLevel
{
    I = 0,
    II = 1,
    III = 2,
}

/// <summary>How severely lots are inspected at present: follows from those before (<see cref="Switching"/>).</summary>
public enum Inspection
{
    Normal = 0,
    Tightened = 1,
    Reduced = 2,
}

/// <summary>A single sampling plan by attributes after MIL-STD-105E and ISO 2859-1, indexed by the AQL.</summary>
public sealed record AttributePlan
{
    /// <summary>Kegs in the lot.</summary>
    public required int Lot { get; init; }

    public required InspectionLevel Level { get; init; }

    public required Inspection Inspection { get; init; }

    /// <summary>Acceptance quality limit in per cent of failing kegs.</summary>
    public required double Aql { get; init; }

    /// <summary>Of lot size and level (Table I).</summary>
    public required char CodeLetter { get; init; }

    /// <summary>Of the plan that counts: another than <see cref="CodeLetter"/> where an arrow was followed.</summary>
    public required char PlanLetter { get; init; }

    /// <summary>As the table says; where the lot has no more, all of it is opened.</summary>
    public required int TableSampleSize { get; init; }

    /// <summary>Kegs to open.</summary>
    public int SampleSize => Math.Min(TableSampleSize, Lot);

    /// <summary>The lot is accepted if at most so many of the kegs opened fail.</summary>
    public required int AcceptanceNumber { get; init; }

    /// <summary>The lot is rejected if so many fail. Under reduced inspection a number between the two accepts the lot and ends reduced inspection.</summary>
    public required int RejectionNumber { get; init; }

    public bool IsWholeLot => SampleSize == Lot;

    /// <summary>The AQLs of the tables, in per cent of failing kegs.</summary>
    public static IReadOnlyList<double> Aqls => AttributeTables.Aqls;

    /// <summary>Probability that the plan accepts lots of a process that fails at this rate (0 to 1): the operating characteristic, by the binomial distribution.</summary>
    public double AcceptanceProbability(double rate) => Tails.AtMost(RejectionNumber - 1, SampleSize, rate);

    /// <summary>Probability that the plan accepts its lot if so many of its kegs fail, by the hypergeometric distribution.</summary>
    /// <exception cref="SamplingException">More failing kegs than the lot has.</exception>
    public double AcceptanceProbability(int failingKegs)
    {
        Entries.Within("failing kegs", failingKegs, 0, Lot);
        return Tails.AtMost(RejectionNumber - 1, SampleSize, failingKegs, Lot);
    }

    /// <summary>The failure rate of a process (0 to 1) whose lots are accepted with this probability.</summary>
    /// <param name="probability">More than 0, less than 1.</param>
    public double RateAccepted(double probability)
    {
        Entries.Rate("probability of acceptance", probability);
        return Search.Crossing(p => AcceptanceProbability(p) > probability);
    }

    /// <param name="lot">Kegs in the lot, 2 to 1,000,000.</param>
    /// <param name="aql">One of <see cref="Aqls"/>.</param>
    /// <exception cref="SamplingException">A lot outside its range, or an AQL that the tables do not have.</exception>
    public static AttributePlan Of(int lot, double aql, InspectionLevel level = InspectionLevel.II, Inspection inspection = Inspection.Normal)
    {
        Entries.Within("lot", lot, 2, Entries.MostKegs);
        var column = Column(aql);
        var letter = AttributeTables.CodeLetters.First(r => lot <= r.LargestLot).Letters[(int)level];
        var rows = Rows(inspection);
        var row = Follow(rows, rows.TakeWhile(r => r.Letter != letter).Count(), column);
        var numbers = Numbers(row.Cells[column]);
        return new AttributePlan
        {
            Lot = lot,
            Level = level,
            Inspection = inspection,
            Aql = aql,
            CodeLetter = letter,
            PlanLetter = row.Letter,
            TableSampleSize = row.SampleSize,
            AcceptanceNumber = numbers.Accept,
            RejectionNumber = numbers.Reject,
        };
    }

    /// <summary>Acceptance number of the same sample for the next smaller AQL of the table; null where the table has an arrow there or no smaller AQL.</summary>
    internal int? AcceptanceNumberOneStepTighter()
    {
        var column = Column(Aql) - 1;
        var cell = column < 0 ? AttributeTables.Below : Rows(Inspection).Single(r => r.Letter == PlanLetter).Cells[column];
        return IsArrow(cell) ? null : Numbers(cell).Accept;
    }

    private static int Column(double aql)
    {
        var column = AttributeTables.Aqls.TakeWhile(a => a != aql).Count();
        return column < AttributeTables.Aqls.Count
            ? column
            : throw new SamplingException(FormattableString.Invariant(
                $"AQL: found {aql:0.######} %; allowed: {string.Join(", ", AttributeTables.Aqls.Select(a => a.ToString("0.0##", CultureInfo.InvariantCulture)))} (per cent of failing kegs)"));
    }

    private static IReadOnlyList<TableRow> Rows(Inspection inspection) => inspection switch
    {
        Inspection.Normal => AttributeTables.Normal,
        Inspection.Tightened => AttributeTables.Tightened,
        _ => AttributeTables.Reduced,
    };

    private static TableRow Follow(IReadOnlyList<TableRow> rows, int at, int column)
    {
        while (IsArrow(rows[at].Cells[column]))
        {
            at += rows[at].Cells[column] == AttributeTables.Below ? 1 : -1;
        }

        return rows[at];
    }

    private static bool IsArrow(string cell) => cell is AttributeTables.Below or AttributeTables.Above;

    private static (int Accept, int Reject) Numbers(string cell)
    {
        var slash = cell.IndexOf('/', StringComparison.Ordinal);
        return (int.Parse(cell.AsSpan(0, slash), CultureInfo.InvariantCulture), int.Parse(cell.AsSpan(slash + 1), CultureInfo.InvariantCulture));
    }
}
