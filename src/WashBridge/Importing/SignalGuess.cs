using System.Text.RegularExpressions;
using WashBridge.Core.Signals;

namespace WashBridge.Importing;

/// <summary>A signal a row may stand for.</summary>
/// <param name="Definition">Of the catalogue.</param>
/// <param name="Station">Or null for the washer.</param>
internal sealed record ListSignal(SignalDefinition Definition, int? Station);

/// <summary>Guesses the signal from the words of name and description: every word of the signal's name, or another word for it, must be there.</summary>
internal static partial class SignalGuess
{
    private static readonly Dictionary<string, string[]> OtherWords = new()
    {
        ["temperature"] = ["temp"], ["conductivity"] = ["cond"], ["pressure"] = ["press"], ["caustic"] = ["lye", "naoh"],
        ["sanitiser"] = ["sanitizer", "san", "disinfectant"], ["co2"] = ["carbon"], ["valve"] = ["vlv"], ["drain"] = ["draining"], ["return"] = ["outlet"],
        ["dry"] = ["empty"], ["programme"] = ["program"], ["paused"] = ["pause", "hold"], ["fault"] = ["alarm", "error"], ["running"] = ["run"],
        ["current"] = ["amps", "ampere"], ["wall"] = ["walls"], ["cycle"] = ["cycles"], ["count"] = ["counter"],
    };

    /// <summary>Words of a name that lists leave out.</summary>
    private static readonly string[] Optional = ["sequence", "supply"];

    public static Guess<ListSignal> Read(string name, string description)
    {
        var words = Words().Matches($"{name} {description}").Select(m => m.Value.ToLowerInvariant()).ToHashSet();
        int? station = Station().Match($"{name} {description}") is { Success: true } match ? int.Parse(match.Groups[1].ValueSpan) : null;
        var best = SignalCatalogue.All
            .Where(d => !d.Name.EndsWith('*') && (d.Scope != SignalScope.Station || station is not null))
            .Select(d => (Definition: d, Words: Matches(d.Name, words)))
            .Where(m => m.Words.Count > 0)
            .GroupBy(m => m.Words.Count)
            .MaxBy(g => g.Key)?.ToList() ?? [];
        if (best.Count != 1)
        {
            return Guess<ListSignal>.Open(best.Count == 0 ? "signal: no name of the catalogue fits" : $"signal: {string.Join(" or ", best.Select(b => b.Definition.Name))}");
        }

        var (definition, matched) = best[0];
        var isStations = definition.Scope != SignalScope.Washer && station is not null;
        return Guess<ListSignal>.Of(
            new ListSignal(definition, isStations ? station : null),
            $"signal: guessed from {string.Join(", ", matched.Select(w => $"\"{w}\""))}{(isStations ? $" and station {station}" : "")}");
    }

    /// <summary>The words of the list that stand for the words of the signal; none if one of them is missing.</summary>
    private static List<string> Matches(string signal, HashSet<string> words)
    {
        var matched = new List<string>();
        foreach (var part in signal.Split('.', '-'))
        {
            var found = OtherWords.GetValueOrDefault(part, []).Prepend(part).FirstOrDefault(words.Contains);
            if (found is null && !Optional.Contains(part))
            {
                return [];
            }

            if (found is not null)
            {
                matched.Add(found);
            }
        }

        return matched;
    }

    [GeneratedRegex("CO2|[A-Z]?[a-z]+|[A-Z]+(?![a-z])|[0-9]+", RegexOptions.CultureInvariant)]
    private static partial Regex Words();

    [GeneratedRegex(@"(?:station|stn|st|head|position|pos)[\s_.#-]*([1-8])(?![0-9])", RegexOptions.IgnoreCase)]
    private static partial Regex Station();
}
