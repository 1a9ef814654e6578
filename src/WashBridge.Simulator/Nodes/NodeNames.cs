using WashBridge.Core.Signals;

namespace WashBridge.Simulator.Nodes;

/// <summary>What a simulated OPC UA controller calls its signals: <c>keg.present</c> of station 2 is Station2/Keg/Present, with the id <c>s=Station2.Keg.Present</c>.</summary>
public static class NodeNames
{
    /// <summary>Of the washers' nodes.</summary>
    public const string NamespaceUri = "urn:example:keg-washer";

    /// <summary>Objects from the washer down to the variable.</summary>
    public static IReadOnlyList<string> PathOf(Signal signal)
    {
        ArgumentNullException.ThrowIfNull(signal);
        var parts = signal.Name.Split('.').Select(Pascal);
        return signal.Station == 0 ? [.. parts] : [$"Station{signal.Station}", .. parts];
    }

    /// <summary>The string identifier of a signal's variable.</summary>
    public static string IdOf(Signal signal) => string.Join('.', PathOf(signal));

    private static string Pascal(string word) => string.Concat(word.Split('-').Select(w => char.ToUpperInvariant(w[0]) + w[1..]));
}
