using System.CommandLine;
using Microsoft.Extensions.Logging.Abstractions;
using Spectre.Console;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes.Book;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Core.Verdicts;
using WashBridge.Historian;
using WashBridge.Pipeline;

namespace WashBridge.Commands;

/// <summary>Takes a recording through the pipeline again: same frames, same ids; same verdicts under the same recipe.</summary>
internal static class ReplayCommand
{
    private const int BatchSize = 4096;

    public static Command Create()
    {
        var recording = new Argument<FileInfo>("recording") { Description = "A historian's file; it is only read." };
        var into = new Argument<FileInfo>("into") { Description = "The historian to make; it must not exist." };
        var siteFile = new Argument<FileInfo>("site") { Description = "The site's file: washers, tag maps and recipes to judge with.", DefaultValueFactory = _ => new FileInfo("config/site.yaml") };
        var command = new Command("replay", """
            Takes a recording of samples through the same pipeline into a new historian, and compares the verdicts with those in the recording.

            Example: washbridge replay plant.washdb trial.washdb config/site.yaml
            """) { recording, into, siteFile };
        command.SetAction((parsed, cancellation) => Task.FromResult(Run(parsed.GetValue(recording)!, parsed.GetValue(into)!, parsed.GetValue(siteFile)!, cancellation)));
        return command;
    }

    private static int Run(FileInfo recording, FileInfo into, FileInfo config, CancellationToken cancellation)
    {
        if (!recording.Exists || into.Exists)
        {
            Console.Error.WriteLine(recording.Exists ? $"{into.FullName}: exists. Name a file that does not, nothing is overwritten." : $"{recording.FullName}: no such file.");
            return ExitCodes.ConfigurationErrors;
        }

        if (SiteFile.Load(config, Console.Error) is not { } site)
        {
            return ExitCodes.ConfigurationErrors;
        }

        using var source = Historian.Historian.OpenReader(recording.FullName);
        using var target = Historian.Historian.Open(into.FullName, new HistorianOptions(), TimeProvider.System);
        AnsiConsole.Progress().Start(progress =>
        {
            Copy(source, target, progress.AddTask("reading the recording"), cancellation, () => Analyse(site, target, null));
            Analyse(site, target, progress.AddTask("finding cycles, judging and analysing"));
        });
        Compare(source, target, Console.Out);
        return ExitCodes.Success;
    }

    /// <summary>
    /// Copies what came from outside: frames, and what people told. All else follows from them. What a person did to a component, bath or recipe or ordered about an alarm is
    /// put behind all that follows from the frames before it, because it changes how the analysis goes on. Decisions about kegs and other records are of the recording and stay with it.
    /// </summary>
    /// <param name="follow">Finds and appends what follows from the frames copied so far.</param>
    internal static void Copy(IHistorianReader source, IHistorian target, ProgressTask? progress, CancellationToken cancellation, Action? follow = null)
    {
        progress?.MaxValue(Math.Max(1, source.LastSequence));
        var cursor = 0L;
        while (source.ReadLog(cursor, BatchSize) is { Count: > 0 } entries)
        {
            cancellation.ThrowIfCancellationRequested();
            var frames = new List<Frame>(entries.Count);
            foreach (var entry in entries)
            {
                if (entry.Frame is { } frame)
                {
                    frames.Add(frame);
                }
                else if (entry.Event is KegScanned)
                {
                    target.AppendEvents([entry.Event]);
                }
                else if (entry.Event is MaintenanceRecorded or BathChanged or AlarmOrdered or RecipeActed)
                {
                    target.AppendFrames(frames);
                    frames.Clear();
                    follow?.Invoke();
                    target.AppendEvents([entry.Event]);
                }
            }

            if (frames.Count > 0)
            {
                target.AppendFrames(frames);
            }

            cursor = entries[^1].Sequence;
            progress?.Value(cursor);
        }

        progress?.Value(progress.MaxValue);
    }

    internal static void Analyse(Site site, IHistorian target, ProgressTask? progress)
    {
        progress?.MaxValue(Math.Max(1, 2 * target.LastSequence));
        var analyst = new Analyst(target, site.Washers);
        analyst.CatchUp(progress: cursor => progress?.Value(cursor));
        analyst.Save();
        var analysis = new AnalysisFollower(target, site, NullLogger.Instance);
        progress?.MaxValue(Math.Max(1, 2 * target.LastSequence));
        analysis.CatchUp(progress: cursor => progress?.Value(target.LastSequence + cursor));
        analysis.Save();
        progress?.Value(progress.MaxValue);
    }

    private static void Compare(IHistorianReader source, IHistorianReader target, TextWriter output)
    {
        var before = Verdicts(source);
        var after = Verdicts(target);
        foreach (var (key, verdict) in after.Where(v => before.TryGetValue(v.Key, out var old) && old.Verdict != v.Value.Verdict).OrderBy(v => v.Key, StringComparer.Ordinal))
        {
            output.WriteLine($"{verdict.KegId} in {verdict.CycleId}: was {before[key].Verdict} ({before[key].Recipe} {before[key].RecipeVersion}), is {verdict.Verdict} ({verdict.Recipe} {verdict.RecipeVersion})");
        }

        var changed = after.Count(v => before.TryGetValue(v.Key, out var old) && old.Verdict != v.Value.Verdict);
        output.WriteLine($"{after.Count} kegs judged: {after.Count(v => before.ContainsKey(v.Key)) - changed} as in the recording, {changed} otherwise, {after.Count(v => !before.ContainsKey(v.Key))} not in the recording; {before.Count(v => !after.ContainsKey(v.Key))} of the recording not found again.");
    }

    private static Dictionary<string, KegVerdict> Verdicts(IHistorianReader historian) => historian
        .ReadEvents(new EventQuery { Kinds = ["keg-judged"] }).OfType<KegJudged>()
        .GroupBy(e => $"{e.Verdict.CycleId}/s{e.Verdict.Station}")
        .ToDictionary(g => g.Key, g => g.Last().Verdict);
}
