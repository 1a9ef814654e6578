using System.Globalization;
using WashBridge.Checking;
using WashBridge.Commands;
using WashBridge.Core.Sampling;
using WashBridge.Reporting;

namespace WashBridge.Lots;

/// <summary>Plans, bounds and samples for people.</summary>
internal sealed class SamplingPrinter(TextWriter output)
{
    /// <summary>Failure rates at which the operating characteristic is told, as multiples of the one that the plan is about.</summary>
    private static readonly double[] Multiples = [0.1, 0.25, 0.5, 1, 2, 4, 8];

    public void Write(ExactPlan plan)
    {
        Heading(plan.Lot is { } lot ? $"Plan: open {Count(plan.SampleSize)} of the {Count(lot)} kegs of the lot" : $"Plan: open {Count(plan.SampleSize)} kegs");
        output.WriteLine(Proof.Of(plan));
        Characteristic(plan.ExcludedRate, plan.AcceptanceProbability);
    }

    public void Write(AttributePlan plan)
    {
        Heading($"Plan: open {Count(plan.SampleSize)} of the {Count(plan.Lot)} kegs of the lot");
        output.WriteLine(Proof.Of(plan));
        var arrow = plan.PlanLetter == plan.CodeLetter ? "" : $", by the table's arrow that of {plan.PlanLetter}";
        output.WriteLine(
            $"Single sampling after MIL-STD-105E and ISO 2859-1: {plan.Inspection.ToString().ToLowerInvariant()} inspection, general level {plan.Level}, AQL {Proof.Percent(plan.Aql / 100)}, "
            + $"code letter {plan.CodeLetter}{arrow}; Ac {plan.AcceptanceNumber}, Re {plan.RejectionNumber}.");
        output.WriteLine(Proof.AqlLimit);
        if (plan.Inspection == Inspection.Reduced)
        {
            output.WriteLine("Numbers of reduced inspection are those of MIL-STD-105E; ISO 2859-1:1999 has others in places: compare before you rely on them.");
        }

        Characteristic(plan.Aql / 100, plan.AcceptanceProbability);
    }

    public void Write(FailureBound bound)
    {
        Heading("Result");
        output.WriteLine(Proof.Of(bound));
    }

    /// <param name="size">Kegs that the plan asks for.</param>
    /// <param name="accept">Its acceptance number.</param>
    /// <param name="reject">Its rejection number.</param>
    public void Decision(int size, int accept, int reject, int opened, int failed)
    {
        var verdict = failed >= reject ? $"not accepted: {Count(failed)} failed, allowed at most {Count(reject - 1)}"
            : opened < size ? $"not yet fulfilled: {Count(opened)} opened, {Count(size)} to open"
            : failed > accept ? $"accepted, but reduced inspection ends: {Count(failed)} failed, more than {Count(accept)}"
            : $"accepted: {Count(failed)} failed, allowed at most {Count(accept)}";
        output.WriteLine($"By the plan above: {verdict}.");
        if (opened > size)
        {
            output.WriteLine($"More were opened ({Count(opened)}) than the plan asks for ({Count(size)}): its acceptance number was not made for that; go by the bound.");
        }
    }

    public void Limits(bool isOfProcess)
    {
        Heading("What it does not say");
        foreach (var limit in isOfProcess ? [.. Proof.Limits, Proof.ProcessLimit] : Proof.Limits)
        {
            output.WriteLine("- " + limit);
        }

        output.WriteLine("- Caution. " + Words.Caution);
    }

    public void Lot(LotKegs lot)
    {
        output.WriteLine($"Lot: {Count(lot.Kegs.Count)} kegs, each by its last washing in the period.");
        if (lot.NotMet > 0)
        {
            output.WriteLine($"Left out, because their verdict is not met: {Count(lot.NotMet)}.");
        }

        if (lot.Made > 0)
        {
            output.WriteLine($"Kegs whose own id nobody told: {Count(lot.Made)}. They are named by washer, cycle and station; keep track of where they went.");
        }
    }

    public void Sample(LotKegs lot, string seed, bool isSeedGiven, int size, TimeZoneInfo zone)
    {
        Heading("Kegs to open, as drawn");
        var table = new TextTable("no.", "keg", "washer", "station", "washed until", "verdict", "cycle") { Unbroken = ["keg", "cycle"] };
        foreach (var (keg, i) in lot.Draw(seed, size).Select((k, i) => (k, i)))
        {
            var washed = TimeZoneInfo.ConvertTime(keg.At.Latest.ToDateTimeOffset(), zone).ToString("yyyy-MM-dd HH:mm:ss zzz", CultureInfo.InvariantCulture);
            table.Add($"{i + 1}", keg.Verdict.KegId, keg.Verdict.Washer, $"{keg.Verdict.Station}", washed, Words.Of(keg.Verdict.Verdict), keg.Verdict.CycleId);
        }

        table.Write(output, Terminal.Of(output));
        output.WriteLine();
        output.WriteLine($"Seed: {seed}");
        output.WriteLine($"Lot's fingerprint: {lot.Fingerprint()}");
        output.WriteLine(isSeedGiven
            ? "The same period and seed give the same kegs as long as the fingerprint is the same."
            : "Record seed and fingerprint before the first keg is opened: the same period with --seed gives the same kegs again. Who draws anew until the sample pleases has not drawn at random.");
    }

    private void Characteristic(double rate, Func<double, double> accepted)
    {
        output.WriteLine();
        var table = new TextTable("if the washer fails at", "lots accepted");
        foreach (var at in Multiples.Select(m => m * rate).Where(r => r <= 1))
        {
            table.Add(Proof.Nearest(at), Proof.Chance(accepted(at)));
        }

        table.Write(output, Terminal.Of(output));
    }

    private void Heading(string text)
    {
        output.WriteLine();
        output.WriteLine(text);
    }

    private static string Count(int count) => count.ToString("N0", CultureInfo.InvariantCulture);
}
