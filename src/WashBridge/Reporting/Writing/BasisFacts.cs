using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>On what a report rests, in a few lines.</summary>
internal static class BasisFacts
{
    public static IReadOnlyList<Fact> Of(Document document)
    {
        var basis = document.Basis;
        var last = basis.LastAt is { } at ? $", which reaches until {CellWords.Instant(at, basis.Zone)}" : "";
        return
        [
            new("Site", basis.Site.Length > 0 ? basis.Site : "not named"),
            new("Times in", basis.Zone.Id),
            new("As of", $"entry {basis.LastSequence} of the historian's log{last}"),
            new("Records", basis.Records is { } head ? $"chained up to {head}; keep this apart, and `washbridge verify --head` tells whether anything up to it was changed" : "none so far"),
            new("Made by", basis.Program),
        ];
    }
}
