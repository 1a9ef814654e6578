using System.Globalization;

namespace WashBridge.Core.Sampling;

/// <summary>What may be entered. Every message says what was found and what is allowed.</summary>
internal static class Entries
{
    /// <summary>Lots and samples beyond this are none of a keg line's; it bounds the time that a search takes.</summary>
    public const int MostKegs = 1_000_000;

    /// <summary>
    /// Probabilities are computed to about 1e-14; a tail that equals the risk in whole numbers (one keg in twenty at 95 %) must not miss it by rounding.
    /// </summary>
    private const double Rounding = 1e-12;

    public static void Lot(int kegs) => Within("lot", kegs, 1, MostKegs);

    public static void Within(string entry, int found, int least, int most)
    {
        if (found < least || found > most)
        {
            throw new SamplingException($"{entry}: found {Number(found)}; allowed: {Number(least)} to {Number(most)}");
        }
    }

    /// <summary>Strictly between 0 and 1.</summary>
    public static void Rate(string entry, double found)
    {
        if (!(found is > 0 and < 1))
        {
            throw new SamplingException(FormattableString.Invariant($"{entry}: found {found * 100:0.######} %; allowed: more than 0 % and less than 100 %"));
        }
    }

    public static void Confidence(double found)
    {
        if (!(found is >= 0.5 and <= 0.999999))
        {
            throw new SamplingException(FormattableString.Invariant($"confidence: found {found * 100:0.######} %; allowed: 50 % to 99.9999 %"));
        }
    }

    /// <summary>Whether what has this probability counts as excluded at that risk.</summary>
    public static bool IsExcluded(double probability, double risk) => probability <= risk * (1 + Rounding);

    private static string Number(int value) => value.ToString("N0", CultureInfo.InvariantCulture);
}
