using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Simulator;
using WashBridge.Simulator.Demo;
using WashBridge.Simulator.Polling;

namespace WashBridge.Tests.Recipes;

/// <summary>Fifteen minutes of the demonstration's washer north, during which another version of its recipe comes into force.</summary>
internal static class RecipeNight
{
    public static readonly Site Site = ConfigurationLoader.Load(Path.Combine(Repository.Root, "config/demo/site.yaml")).Site!;
    public static readonly Instant Start = Instant.Parse("2031-03-05T08:00:00Z");

    private static readonly Lazy<List<Frame>> Frames = new(() => [.. new VirtualPoller(new SimulatedWasher(DemoScenario.Washers[0].Options with { Faults = [], KegIds = false }), new PollerOptions
    {
        Start = Start,
        Groups = [new(0, TimeSpan.FromMilliseconds(200), TimeSpan.FromSeconds(10)), new(1, TimeSpan.FromMilliseconds(500), TimeSpan.FromSeconds(30)), new(2, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(60))],
    }).PollUntil(TimeSpan.FromMinutes(15))]);

    public static IReadOnlyList<Frame> Recording => Frames.Value;

    /// <summary>What north is configured with.</summary>
    public static Recipe Configured => Site.Washers.First(w => w.Model.Washer == "north").Recipe;

    /// <summary>The configured recipe as another version, in which the sanitiser must stand for so long.</summary>
    public static Recipe Version(int version, double hold) => Configured with
    {
        Version = version,
        Requirements = [.. Configured.Requirements.Select(r => r is StepTime { Id: "sanitiser-hold" } step ? step with { AtLeast = TimeSpan.FromSeconds(hold) } : r)],
    };

    /// <summary>Drafted, submitted and approved within a second.</summary>
    public static IReadOnlyList<RecipeActed> Approved(int version, double hold, Instant at, Instant? from) =>
    [
        Acted(version, RecipeStep.Drafted, at, "A. Uthor") with { Recipe = Version(version, hold) },
        Acted(version, RecipeStep.Submitted, at, "A. Uthor"),
        Acted(version, RecipeStep.Approved, at, "Q. Ality") with { From = from, Approvals = 1 },
    ];

    public static RecipeActed Acted(int version, RecipeStep step, Instant at, string by) => new()
    {
        Id = $"recipe/{Configured.Id}/{version}/{step}/{at}",
        Washer = WashEvent.WholeSite,
        At = TimeBounds.At(at),
        Act = new Act { By = by, Role = Role.Qa, Reason = "as tried", Means = Means.Page, Entered = at },
        RecipeId = Configured.Id,
        Version = version,
        Step = step,
    };

    /// <summary>Appends the night in pieces, what was told where it was told; calls back after each piece.</summary>
    /// <param name="piece">Frames at a time.</param>
    public static void Live(IHistorian historian, IReadOnlyList<RecipeActed> acts, int piece, Action<int> after)
    {
        var told = new Queue<RecipeActed>(acts.OrderBy(a => a.At.Latest));
        var pieces = 0;
        var waiting = new List<Frame>();
        foreach (var frame in Recording)
        {
            if (told.TryPeek(out var next) && next.At.Latest <= frame.Read.Latest)
            {
                historian.AppendFrames(waiting);
                waiting.Clear();
                while (told.TryPeek(out next) && next.At.Latest <= frame.Read.Latest)
                {
                    historian.AppendEvents([told.Dequeue()]);
                }
            }

            waiting.Add(frame);
            if (waiting.Count >= piece)
            {
                historian.AppendFrames(waiting);
                waiting.Clear();
                after(pieces++);
            }
        }

        historian.AppendFrames(waiting);
        after(pieces);
    }
}
