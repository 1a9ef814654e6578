using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Historian;

namespace WashBridge.Web.Charts;

/// <summary>Signals by what they are called in addresses: <c>temperature.caustic</c>, or <c>drain.dry@2</c> at station 2.</summary>
internal static class SignalNames
{
    public static string Of(Signal signal) => signal.Station == 0 ? signal.Name : FormattableString.Invariant($"{signal.Name}@{signal.Station}");

    /// <summary>A washer's signals that have numbers, the washer's own first; of two that differ in the unit alone the one that is mapped now, or the later.</summary>
    public static IReadOnlyList<Signal> Drawable(IHistorianReader historian, Site site, string washer)
    {
        var mapped = site.Washers.FirstOrDefault(w => w.Model.Washer == washer)?.Model.Signals.ToHashSet() ?? [];
        return [.. historian.Signals
            .Where(s => s.Washer == washer && s.Type != SignalType.Text)
            .GroupBy(Of)
            .Select(same => same.LastOrDefault(mapped.Contains) ?? same.Last())
            .OrderBy(s => s.Type == SignalType.Quantity ? 0 : 1).ThenBy(s => s.Station).ThenBy(s => s.Name, StringComparer.Ordinal)];
    }

    public static Signal? Find(IHistorianReader historian, Site site, string washer, string name) => Drawable(historian, site, washer).FirstOrDefault(s => Of(s) == name);

    public static string Unit(Signal signal) => Units.Of(signal.Unit);
}
