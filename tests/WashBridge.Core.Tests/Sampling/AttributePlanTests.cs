using System.Globalization;
using WashBridge.Core.Sampling;

namespace WashBridge.Core.Tests.Sampling;

public sealed class AttributePlanTests
{
    private static readonly int[] Lots = [2, 8, 9, 15, 16, 25, 26, 50, 51, 90, 91, 150, 151, 280, 281, 480, 500, 501, 1200, 1201, 3200, 3201, 10_000, 10_001, 35_000, 35_001, 150_000, 150_001, 500_000, 500_001, 1_000_000];

    public static TheoryData<Inspection> Severities => [.. Enum.GetValues<Inspection>()];

    /// <summary>
    /// Rejection numbers of normal inspection at level II for AQL 0.65, 1.0, 1.5, 2.5, 4.0, 6.5 and 10, as the National Institute of Building Sciences prints them from MIL-STD-105E
    /// (nibs.org, FMOC/DPW_AC/AC-TABLE.ASC, Table 1-A); v and ^ are its arrows. Its row of letter A has an arrow up at AQL 10, above which there is nothing: left out.
    /// </summary>
    [Theory]
    [InlineData("A 2 v v v v v 1")]
    [InlineData("B 3 v v v v 1 ^ v")]
    [InlineData("C 5 v v v 1 ^ v 2")]
    [InlineData("D 8 v v 1 ^ v 2 3")]
    [InlineData("E 13 v 1 ^ v 2 3 4")]
    [InlineData("F 20 1 ^ v 2 3 4 6")]
    [InlineData("G 32 ^ v 2 3 4 6 8")]
    [InlineData("H 50 v 2 3 4 6 8 11")]
    [InlineData("J 80 2 3 4 6 8 11 15")]
    [InlineData("K 125 3 4 6 8 11 15 22")]
    [InlineData("L 200 4 6 8 11 15 22 ^")]
    [InlineData("M 315 6 8 11 15 22 ^ ^")]
    [InlineData("N 500 8 11 15 22 ^ ^ ^")]
    [InlineData("P 800 11 15 22 ^ ^ ^ ^")]
    [InlineData("Q 1250 15 22 ^ ^ ^ ^ ^")]
    public void The_normal_plans_are_those_printed_elsewhere(string printed) => Same(printed, AttributeTables.Normal);

    /// <summary>The same source's Table 1-B, tightened inspection.</summary>
    [Theory]
    [InlineData("A 2 v v v v v v v")]
    [InlineData("B 3 v v v v v 1 v")]
    [InlineData("C 5 v v v v 1 v v")]
    [InlineData("D 8 v v v 1 v v 2")]
    [InlineData("E 13 v v 1 v v 2 3")]
    [InlineData("F 20 v 1 v v 2 3 4")]
    [InlineData("G 32 1 v v 2 3 4 6")]
    [InlineData("H 50 v v 2 3 4 6 9")]
    [InlineData("J 80 v 2 3 4 6 9 13")]
    [InlineData("K 125 2 3 4 6 9 13 19")]
    [InlineData("L 200 3 4 6 9 13 19 ^")]
    public void The_tightened_plans_are_those_printed_elsewhere(string printed) => Same(printed, AttributeTables.Tightened);

    /// <summary>
    /// Each row of Table II-A without its arrows begins with these numbers, as a copy of MIL-STD-105E's page 19 has it in text (scribd.com/document/563507790); letter R with the second.
    /// </summary>
    [Fact]
    public void Rows_are_those_of_the_printed_page() => Assert.All(AttributeTables.Normal, row =>
    {
        var numbers = string.Join(' ', row.Cells.Where(c => c.Contains('/', StringComparison.Ordinal)));
        Assert.StartsWith(numbers, row.Letter == 'R' ? "1/2 2/3 3/4 5/6 7/8 10/11 14/15 21/22" : "0/1 1/2 2/3 3/4 5/6 7/8 10/11 14/15 21/22", StringComparison.Ordinal);
        Assert.NotEmpty(numbers);
    });

    [Theory]
    [MemberData(nameof(Severities))]
    public void Tables_are_consistent(Inspection inspection)
    {
        var rows = Table(inspection);
        Assert.All(rows, r => Assert.Equal(AttributePlan.Aqls.Count, r.Cells.Count));
        Assert.Equal("ABCDEFGHJKLMNPQRS"[..rows.Count], string.Concat(rows.Select(r => r.Letter)));
        Assert.All(rows.Zip(rows.Skip(1)), p => Assert.True(p.Second.SampleSize >= p.First.SampleSize));
        foreach (var (row, i) in rows.Select((r, i) => (r, i)))
        {
            var plans = row.Cells.Where(c => c.Contains('/', StringComparison.Ordinal)).Select(Numbers).ToArray();
            Assert.All(plans, p => Assert.True(p.Reject > p.Accept && (inspection == Inspection.Reduced || p.Reject == p.Accept + 1)));

            // A larger AQL never has a smaller acceptance number, nor has a larger sample of the same AQL.
            Assert.All(plans.Zip(plans.Skip(1)), p => Assert.True(p.Second.Accept > p.First.Accept || p.Second.Reject > p.First.Reject));

            // The same plan stands one letter down and one AQL to the left: the sample grows as the AQL shrinks. The last row of tightened inspection is an addition.
            if (i + 1 < rows.Count && rows[i + 1].Letter != 'S')
            {
                Assert.All(Enumerable.Range(1, row.Cells.Count - 1).Where(c => row.Cells[c].Contains('/', StringComparison.Ordinal)), c => Assert.Equal(row.Cells[c], rows[i + 1].Cells[c - 1]));
            }
        }
    }

    /// <summary>What the tables are made for: lots at the AQL are mostly accepted (the standard's curves: about 88 % for the smallest plans, above 95 % for large ones).</summary>
    [Fact]
    public void Lots_at_the_AQL_are_mostly_accepted()
    {
        foreach (var plan in All().Where(p => !p.IsWholeLot))
        {
            var accepted = plan.AcceptanceProbability(plan.Aql / 100);
            var least = plan.Inspection switch { Inspection.Normal => 0.87, Inspection.Reduced => 0.93, _ => 0.79 };
            Assert.True(accepted > least || plan.AcceptanceNumber == 0 && plan.Inspection == Inspection.Reduced && accepted > 0.86, $"{plan}: {accepted}");
        }
    }

    [Fact]
    public void Tightened_inspection_accepts_less_and_reduced_more_than_normal()
    {
        foreach (var normal in All().Where(p => p.Inspection == Inspection.Normal))
        {
            var tightened = AttributePlan.Of(normal.Lot, normal.Aql, normal.Level, Inspection.Tightened);
            var reduced = AttributePlan.Of(normal.Lot, normal.Aql, normal.Level, Inspection.Reduced);
            var rate = normal.Aql / 100;
            Assert.True(tightened.AcceptanceProbability(rate) <= normal.AcceptanceProbability(rate) + 1e-12, $"{normal} {tightened}");
            Assert.True(reduced.SampleSize <= normal.SampleSize, $"{normal} {reduced}");
            Assert.True(reduced.AcceptanceProbability(2.5 * rate) >= normal.AcceptanceProbability(2.5 * rate) - 1e-12, $"{normal} {reduced}");
        }
    }

    [Fact]
    public void Every_plan_can_reject_its_lot() => Assert.All(All(), p => Assert.InRange(p.RejectionNumber, 1, p.SampleSize));

    /// <summary>A textbook example (Montgomery, Introduction to Statistical Quality Control, chapter on lot-by-lot acceptance sampling: lot 2,000, AQL 0.65 %, level II; value from memory).</summary>
    [Theory]
    [InlineData(Inspection.Normal, 125, 2, 3)]
    [InlineData(Inspection.Tightened, 125, 1, 2)]
    [InlineData(Inspection.Reduced, 50, 1, 3)]
    public void A_textbook_example(Inspection inspection, int size, int accept, int reject)
    {
        var plan = AttributePlan.Of(2000, 0.65, InspectionLevel.II, inspection);
        Assert.Equal(('K', size, accept, reject), (plan.CodeLetter, plan.SampleSize, plan.AcceptanceNumber, plan.RejectionNumber));
    }

    /// <summary>Table X-J-1 of the standard, n = 80, c = 2: 95 % of lots accepted at 1.03 %, half at 3.33 %, one in ten at 6.52 % (value from memory).</summary>
    [Theory]
    [InlineData(0.95, 1.03)]
    [InlineData(0.5, 3.33)]
    [InlineData(0.1, 6.52)]
    public void The_operating_characteristic_is_the_standards(double accepted, double percent)
        => Assert.Equal(percent, 100 * AttributePlan.Of(1000, 1.0).RateAccepted(accepted), 0.0051);

    [Theory]
    [InlineData(480, 1.0, 'H', 'H', 50, 1)]
    [InlineData(480, 0.65, 'H', 'J', 80, 1)]
    [InlineData(200, 0.65, 'G', 'F', 20, 0)]
    [InlineData(200, 0.10, 'G', 'K', 125, 0)]
    [InlineData(100, 0.10, 'F', 'K', 100, 0)]
    [InlineData(20_000, 10, 'M', 'K', 125, 21)]
    public void Arrows_are_followed(int lot, double aql, char letter, char used, int size, int accept)
    {
        var plan = AttributePlan.Of(lot, aql);
        Assert.Equal((letter, used, size, accept), (plan.CodeLetter, plan.PlanLetter, plan.SampleSize, plan.AcceptanceNumber));
        Assert.Equal(size == lot, plan.IsWholeLot);
    }

    [Theory]
    [InlineData(1, 1.0, "lot: found 1; allowed: 2 to 1,000,000")]
    [InlineData(480, 1.2, "AQL: found 1.2 %; allowed: 0.01, 0.015, 0.025, 0.04, 0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0 (per cent of failing kegs)")]
    public void What_the_tables_do_not_have_is_refused(int lot, double aql, string message)
        => Assert.Equal(message, Assert.Throws<SamplingException>(() => AttributePlan.Of(lot, aql)).Message);

    private static IEnumerable<AttributePlan> All()
        => from lot in Lots
           from aql in AttributePlan.Aqls
           from level in Enum.GetValues<InspectionLevel>()
           from inspection in Enum.GetValues<Inspection>()
           select AttributePlan.Of(lot, aql, level, inspection);

    private static IReadOnlyList<TableRow> Table(Inspection inspection) => inspection switch
    {
        Inspection.Normal => AttributeTables.Normal,
        Inspection.Tightened => AttributeTables.Tightened,
        _ => AttributeTables.Reduced,
    };

    private static (int Accept, int Reject) Numbers(string cell)
    {
        var parts = cell.Split('/');
        return (int.Parse(parts[0], CultureInfo.InvariantCulture), int.Parse(parts[1], CultureInfo.InvariantCulture));
    }

    private static void Same(string printed, IReadOnlyList<TableRow> table)
    {
        var words = printed.Split(' ');
        var row = table.Single(r => r.Letter == words[0][0]);
        Assert.Equal(words[1], row.SampleSize.ToString(CultureInfo.InvariantCulture));
        Assert.Equal(words[2..], row.Cells.Skip(9).Take(words.Length - 2).Select(c => c.Contains('/', StringComparison.Ordinal) ? c.Split('/')[1] : c));
    }
}
