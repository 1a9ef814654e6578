using WashBridge.Benchmarks.Fleet;

namespace WashBridge.Tests.Installing;

/// <summary>The tables of PLANNING.md are those of the figures that the bench <c>fleet</c> left. Set WASHBRIDGE_WRITE_EXPECTED=1 to write them anew.</summary>
public sealed class PlanningPageTests
{
    private const string LastFixedLine = "<!-- Below: made by the bench fleet from its figures; held by PlanningPageTests. -->\n\n";

    private static readonly string Page = Path.Combine(Repository.Root, "src/WashBridge/Installing/PLANNING.md");
    private static readonly string Figures = Path.Combine(Repository.Root, "tests/WashBridge.Benchmarks/Fleet/figures.json");

    [Fact]
    public async Task The_tables_are_those_of_the_figures_measured()
    {
        var page = (await File.ReadAllTextAsync(Page, TestContext.Current.CancellationToken)).ReplaceLineEndings("\n");
        var introduction = page[..(page.IndexOf(LastFixedLine, StringComparison.Ordinal) + LastFixedLine.Length)];
        var expected = introduction + FleetPlan.Of(FleetFigures.Read(Figures));
        if (Environment.GetEnvironmentVariable("WASHBRIDGE_WRITE_EXPECTED") == "1")
        {
            await File.WriteAllTextAsync(Page, expected, TestContext.Current.CancellationToken);
            page = expected;
        }

        Assert.Equal(expected, page);
    }

    /// <summary>A straight line through points that lie on one: 3 and 2 for each washer.</summary>
    [Fact]
    public void The_cost_before_the_first_washer_and_of_each_more_are_told_apart()
    {
        BridgeFigures Bridge(int washers, bool isOpcUa = false) => new(washers, isOpcUa, 0, isOpcUa ? 1000 : 3 + (2 * washers), 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0);
        var costs = new CostFigures(1, [Bridge(1), Bridge(10), Bridge(50), Bridge(250), Bridge(50, isOpcUa: true)], 1, 1, new InfluxFigures(1, 0, 0, 0, 0, 0, 0));
        var (first, each) = costs.Line(b => b.Cores);
        Assert.Equal(3, first, 1e-9);
        Assert.Equal(2, each, 1e-9);
    }

    [Fact]
    public void What_was_not_measured_is_not_planned() => Assert.Throws<InvalidOperationException>(() => FleetPlan.Of(new FleetFigures()));
}
