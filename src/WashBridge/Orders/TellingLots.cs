using System.Security.Cryptography;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Sampling;
using WashBridge.Historian;
using WashBridge.Lots;

namespace WashBridge.Orders;

/// <summary>Kegs drawn at random to be opened.</summary>
internal static partial class Telling
{
    private const int SeedDigits = 32;

    /// <param name="name">What the lot is called: new, because results name it.</param>
    /// <param name="washer">Whose kegs they are; null: of all washers.</param>
    /// <param name="lot">The kegs.</param>
    /// <param name="shown">Fingerprint of the kegs that the person saw: a lot that has changed since is another one.</param>
    /// <param name="plan">By which is drawn.</param>
    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static LotSampled Draw(string? name, string? washer, LotKegs lot, string? shown, SamplingPlan plan, string? by, IHistorianReader historian, DateTimeOffset now, Teller? teller = null)
    {
        var called = TellingChecks.Text("lot", name, TellingChecks.LongestName, "the lot's name is one line");
        teller?.Require(Role.Operator, "drawing kegs to open");
        if (lot.Fingerprint() != shown)
        {
            throw new TellingException($"lot: found {lot.Kegs.Count} kegs, which are not those shown; kegs were washed or judged since. Look at the lot again", isConflict: true);
        }

        if (plan.SampleSize > lot.Kegs.Count)
        {
            throw new TellingException($"sample size: found {plan.SampleSize}; allowed: up to the {lot.Kegs.Count} kegs of the lot. Take a longer period, or another plan");
        }

        RequireNew(called, historian);
        var at = TellingChecks.Now(now);
        var seed = RandomNumberGenerator.GetHexString(SeedDigits, lowercase: true);
        return new LotSampled
        {
            Id = $"{washer ?? "site"}/lot/{called}/{at.Latest}",
            Washer = washer ?? WashEvent.WholeSite,
            At = at,
            Act = TellingChecks.Act(by, null, now, teller),
            Lot = called,
            Size = lot.Kegs.Count,
            Fingerprint = shown!,
            Plan = plan.Line,
            AcceptanceNumber = plan.AcceptanceNumber,
            Seed = seed,
            Drawn = RandomChoice.Choose(seed, [.. lot.Kegs.Keys], plan.SampleSize),
            Proof = plan.Proves,
        };
    }

    /// <summary>Results name the lot.</summary>
    private static void RequireNew(string lot, IHistorianReader historian)
    {
        if (historian.ReadEvents(new EventQuery { Kinds = ["lot-sampled"] }).OfType<LotSampled>().Any(l => l.Lot == lot))
        {
            throw new TellingException($"lot: found '{lot}', which was drawn from before; allowed: a name of its own", isConflict: true);
        }
    }
}
