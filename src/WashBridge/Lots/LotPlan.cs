using WashBridge.Core.Sampling;

namespace WashBridge.Lots;

/// <summary>Plans from what the command and the API take.</summary>
internal static class LotPlan
{
    /// <param name="excluded">A failure rate such as 1%, or a number of failing kegs.</param>
    /// <param name="lot">Kegs in the lot; null: a plan for the washer as it washes.</param>
    /// <exception cref="SamplingException">An entry is wrong, or they do not go together.</exception>
    public static ExactPlan Exact(string excluded, int? lot, int accept, double confidence) => (Entry.Excluded(excluded), lot) switch
    {
        (({ } rate, _), null) => ExactPlan.ForProcess(rate, accept, confidence),
        (({ } rate, _), { } kegs) => ExactPlan.ForLot(kegs, rate, accept, confidence),
        ((_, { } failing), { } kegs) => ExactPlan.ForLot(kegs, failing, accept, confidence),
        _ => throw new SamplingException($"--exclude: found a number of kegs ({excluded}) without a lot; allowed: a share such as 1%, or --lot"),
    };

    /// <exception cref="SamplingException">An entry is wrong.</exception>
    public static AttributePlan Tabled(string aql, int lot, string level, string inspection) =>
        AttributePlan.Of(lot, Entry.Aql(aql), Named<InspectionLevel>("--level", level), Named<Inspection>("--inspection", inspection));

    private static T Named<T>(string option, string text)
        where T : struct, Enum => Enum.GetNames<T>().FirstOrDefault(n => n.Equals(text, StringComparison.OrdinalIgnoreCase)) is { } name
            ? Enum.Parse<T>(name)
            : throw new SamplingException($"{option}: found {text}; allowed: {string.Join(", ", Enum.GetNames<T>())}");
}
