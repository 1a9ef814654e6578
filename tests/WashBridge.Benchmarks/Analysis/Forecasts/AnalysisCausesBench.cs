using WashBridge.Analysis;
using WashBridge.Analysis.Upkeep;
using WashBridge.Analysis.Upkeep.Diagnosis;
using WashBridge.Benchmarks.Analysis.Years;
using WashBridge.Core.Upkeep;

namespace WashBridge.Benchmarks.Analysis.Forecasts;

/// <summary>The causes alone, without forecasts: a table of what was taken for what, and the signs behind each mistake.</summary>
internal sealed class AnalysisCausesBench : IBench
{
    private static readonly string[] Halves = ["all", "odd", "even"];

    public string Name => "analysis-causes";

    public string What => "causes on simulated washer-years, with the signs of what was mistaken: FOLDER [all | odd | even] [FIRST-SEED LAST-SEED] [all-signs] [keep=FOLDER: a quick second run, as long as what is remembered stays the same]";

    public Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var kept = Array.Find(arguments, a => a.StartsWith("keep=", StringComparison.Ordinal))?["keep=".Length..];
        var seeds = arguments.Skip(1).Where(a => int.TryParse(a, out _)).Select(int.Parse).ToList();
        var (first, last) = (seeds.Count > 0 ? seeds[0] : 0, seeds.Count > 1 ? seeds[1] : int.MaxValue);
        var half = Math.Max(0, Array.FindIndex(Halves, h => arguments.Skip(1).Contains(h)));
        var asked = new List<Asked>();
        foreach (var seed in YearFiles.Seeds(arguments[0]).Where(s => s >= first && s <= last && (half == 0 || s % 2 == half % 2)))
        {
            cancellation.ThrowIfCancellationRequested();
            var truth = YearFiles.ReadTruth(arguments[0], seed);
            if (truth.Episodes.Count > 0)
            {
                asked.AddRange(kept is null ? Run(arguments[0], truth, null) : Recall(arguments[0], truth, kept));
            }
        }

        foreach (var each in asked.Where(a => !a.IsRight || arguments.Contains("all-signs")))
        {
            Tell(each);
        }

        foreach (var mixed in new[] { false, true })
        {
            var these = asked.Where(a => a.Episode.MixedWith > 0 == mixed).ToList();
            var right = these.Count(a => a.IsRight);
            Console.WriteLine($"{(mixed ? "mixed" : "single")} faults: {right} of {these.Count} right first, {(double)right / Math.Max(1, these.Count):P1}{(mixed ? "" : " (bar 90 %)")}");
            foreach (var row in these.GroupBy(a => (a.Truth, a.First)).OrderBy(g => g.Key.Truth, StringComparer.Ordinal).ThenByDescending(g => g.Count()))
            {
                Console.WriteLine($"   {row.Key.Truth,-18} {(row.Key.First == row.Key.Truth ? "the same" : row.Key.First),-22} {row.Count()}");
            }
        }

        return Task.CompletedTask;
    }

    /// <param name="Seed">Of the year.</param>
    /// <param name="Episode">What truly went wrong.</param>
    /// <param name="Component">Of what it was asked.</param>
    /// <param name="Signs">What the causes were ranked by.</param>
    /// <param name="Causes">The best fitting first.</param>
    private sealed record Asked(int Seed, TrueEpisode Episode, Component Component, IReadOnlyList<Sign> Signs, IReadOnlyList<Cause> Causes)
    {
        public string Truth => ForecastJudge.NameOf(Episode.Kind);

        public string First => Causes.Count > 0 ? Causes[0].Name : "none";

        public bool IsRight => First == Truth;

        public static Asked Of(int seed, TrueEpisode episode, Component component, UpkeepWatch upkeep) => new(seed, episode, component, upkeep.Signs(component).Signs, upkeep.Diagnose(component));
    }

    /// <param name="folder">Of the years.</param>
    /// <param name="truth">Of the year.</param>
    /// <param name="keep">Where what the watch remembers when it is asked is written; null: nowhere.</param>
    private static List<Asked> Run(string folder, YearTruth truth, string? keep)
    {
        var asked = new List<Asked>();
        var upkeep = new UpkeepWatch(YearSettings.Of(truth)) { IsSilent = true };
        var judge = new ForecastJudge(truth, upkeep)
        {
            WhenAsked = (episode, component) =>
            {
                asked.Add(Asked.Of(truth.Seed, episode, component, upkeep));
                if (keep is not null)
                {
                    File.WriteAllText(KeptPath(keep, truth.Seed, episode), upkeep.Snapshot());
                }
            },
        };
        var analysis = new WasherAnalysis([upkeep]);
        foreach (var washEvent in YearFiles.ReadEvents(folder, truth.Seed))
        {
            judge.Take(washEvent, analysis.Accept(washEvent));
        }

        return asked;
    }

    private static List<Asked> Recall(string folder, YearTruth truth, string keep)
    {
        Directory.CreateDirectory(keep);
        var whole = Path.Combine(keep, $"{truth.Seed:D4}.whole");
        if (!File.Exists(whole))
        {
            var asked = Run(folder, truth, keep);
            File.WriteAllText(whole, "");
            return asked;
        }

        var recalled = new List<Asked>();
        foreach (var episode in truth.Episodes.Where(e => File.Exists(KeptPath(keep, truth.Seed, e))))
        {
            var upkeep = new UpkeepWatch(YearSettings.Of(truth)) { IsSilent = true };
            upkeep.Restore(File.ReadAllText(KeptPath(keep, truth.Seed, episode)));
            recalled.Add(Asked.Of(truth.Seed, episode, ForecastJudge.AskedOf(episode), upkeep));
        }

        return recalled;
    }

    private static string KeptPath(string keep, int seed, TrueEpisode episode) => Path.Combine(keep, $"{seed:D4}.{episode.Number}.json");

    private static void Tell(Asked asked)
    {
        var (episode, level) = (asked.Episode, asked.Episode.Levels.Count > 0 ? asked.Episode.Levels[^1].Value : double.NaN);
        Console.WriteLine($"{asked.Seed}: {asked.Truth}{(episode.MixedWith > 0 ? " (mixed)" : "")} {(episode.IsGradual ? "growing" : "at once")} from {episode.FirstCycle}, {level:0.###} {episode.Level}; asked of {asked.Component.Key}: {string.Join(", ", asked.Causes.Select(c => $"{c.Name} {c.Weight:0.###}"))}");
        foreach (var sign in asked.Signs)
        {
            Console.WriteLine($"      {sign.Name,-12} {sign.Value,6:0.00} +-{sign.Uncertainty,-5:0.00} {sign.Says}");
        }
    }
}
