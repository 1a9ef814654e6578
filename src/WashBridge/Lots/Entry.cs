using System.Globalization;
using WashBridge.Core.Sampling;

namespace WashBridge.Lots;

/// <summary>How shares and numbers of kegs are written on the command line.</summary>
internal static class Entry
{
    private static readonly CultureInfo Form = CultureInfo.InvariantCulture;

    /// <summary>What must be excluded: a share with a percent sign, or a number of failing kegs without.</summary>
    /// <exception cref="SamplingException">It is neither.</exception>
    public static (double? Rate, int? Kegs) Excluded(string text, string option = "--exclude")
    {
        if (text.Trim().EndsWith('%'))
        {
            return (Percent(option, text), null);
        }

        return Whole(text) is { } kegs
            ? (null, kegs)
            : throw new SamplingException($"{option}: found {text}; allowed: a share such as 1%, or a number of failing kegs such as 5");
    }

    /// <summary>A number of kegs.</summary>
    /// <exception cref="SamplingException">It is no whole number.</exception>
    public static int Count(string option, string text) => Whole(text) ?? throw new SamplingException($"{option}: found {text}; allowed: a whole number of kegs such as 480");

    /// <summary>A share as 0 to 1, written in per cent; the sign may be left out.</summary>
    /// <exception cref="SamplingException">It is no number.</exception>
    public static double Percent(string option, string text) => (double)(Number(option, text) / 100);

    /// <summary>An AQL in per cent; the sign may be left out.</summary>
    /// <exception cref="SamplingException">It is no number.</exception>
    public static double Aql(string text, string option = "--aql") => (double)Number(option, text);

    private static int? Whole(string text) => int.TryParse(text, NumberStyles.AllowLeadingWhite | NumberStyles.AllowTrailingWhite, Form, out var number) ? number : null;

    /// <summary>Decimal, so that 0.065 becomes the double that is written 0.065, and 7 % the one that is written 0.07.</summary>
    private static decimal Number(string option, string text) => decimal.TryParse(text.Trim().TrimEnd('%'), NumberStyles.AllowDecimalPoint | NumberStyles.AllowTrailingWhite, Form, out var number)
        ? number
        : throw new SamplingException($"{option}: found {text}; allowed: a number in per cent such as 2.5%, with a decimal point");
}
