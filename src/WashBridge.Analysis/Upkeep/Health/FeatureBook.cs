using WashBridge.Core.Features;

namespace WashBridge.Analysis.Upkeep.Health;

/// <summary>The references of all figures that say something of a part's health.</summary>
internal sealed class FeatureBook
{
    /// <summary>More figures than any washer has; a guard against endless names.</summary>
    private const int MostFigures = 600;

    private static readonly HashSet<string> Families = new(StringComparer.Ordinal)
    {
        "drain-time", "drain-bounce", "drain-wet-before", "liquid", "spray-time", "spray-pressure", "spray-current", "spray-flow", "water-pressure", "air-pressure",
        "co2-rest", "co2-flow", "purge-high", "purge-low", "purge-rise", "dosing-time", "dosing-response", "dosing-loss", "strength", "level", "rinse-out", "heat-up-rate",
        "heater-time", "heater-duty", "temperature-mean", "temperature-return",
    };

    /// <summary>These follow the recipe as well as the machine.</summary>
    private static readonly HashSet<string> OfTheRecipe = new(StringComparer.Ordinal)
    {
        "co2-flow", "purge-high", "purge-low", "purge-rise", "dosing-time", "strength", "rinse-out", "heater-time", "heater-duty", "temperature-mean", "temperature-return",
    };

    /// <summary>A figure that was not seen for so many cycles is of a programme that is not run now.</summary>
    private const int StillOccurs = 300;

    /// <summary>Spreads by which the one drain in a hundred is longer that runs into the time-out first.</summary>
    private const double Unlucky = 2.3;
    private const double MostConfirmation = 3;

    private const string Drain = "drain-time";

    private int _cycle;
    private readonly FigurePlaces<FeatureNorm?> _places = new();
    private readonly Dictionary<string, List<FeatureNorm>> _byFamily = new(StringComparer.Ordinal);

    public SortedDictionary<string, FeatureNorm> Norms { get; init; } = new(StringComparer.Ordinal);

    public FeatureNorm? Find(string name, int station) => _places.Find(name, station);

    /// <summary>The norm of a figure, to be read and then shown the figure; null: it says nothing of health.</summary>
    public FeatureNorm? Of(Feature figure)
    {
        if (!_places.TryFollow(figure.Name, figure.Station, out var norm))
        {
            norm = IsOfHealth(figure) && Norms.Count < MostFigures ? new FeatureNorm() : null;
            if (norm is not null)
            {
                Norms.Add(figure.Key, norm);
                Enter(norm, figure.Name, figure.Station);
            }
            else if (_places.Count < 2 * MostFigures)
            {
                _places.Set(figure.Name, figure.Station, null);
            }
        }

        return norm;
    }

    public void See(FeatureNorm norm, double value)
    {
        norm.Seen = _cycle;
        var was = norm.IsLearned;
        norm.See(value);
        if (!was && norm.IsLearned && norm.Family == Drain && LiquidOf(norm) is { } liquid)
        {
            norm.Liquid = liquid.Recent.Count > 0 ? liquid.Recent.Average() : 0;
        }
    }

    /// <summary>What was put in before a drain: the litres, or where no flow is measured the time of the sprays; null: not learned.</summary>
    public FeatureNorm? LiquidOf(FeatureNorm drain)
    {
        var which = drain.Name[(Drain.Length + 1)..];
        foreach (var liquid in new[] { Find("liquid/" + which, drain.Station), Find("liquid/" + which, 0), Find("spray-time/" + which, 0) })
        {
            if (liquid is { IsLearned: true, Centre: > 0 })
            {
                return liquid;
            }
        }

        return null;
    }

    /// <summary>Centre of the highest reference of a family; 0: none is learned.</summary>
    public double HighestOf(string family)
    {
        var highest = 0.0;
        foreach (var norm in Family(family))
        {
            highest = norm.IsLearned ? Math.Max(highest, norm.Centre) : highest;
        }

        return highest;
    }

    /// <summary>
    /// Seconds of the longest drain of a station as it is now, when it is unlucky, among those that still occur, and of what the controller waits after
    /// the sensor reads dry; 0: none is learned.
    /// </summary>
    public double LongestDrain(int station)
    {
        var longest = 0.0;
        foreach (var norm in Family("drain-time"))
        {
            longest = norm.Station == station && norm.IsLearned && _cycle - norm.Seen <= StillOccurs ? Math.Max(longest, norm.Now + (Unlucky * norm.NowSpread)) : longest;
        }

        return longest > 0 ? longest + Confirmation() : 0;
    }

    /// <summary>What a drain step takes longer than its slowest station, in the reference, s; the shortest of all phases.</summary>
    private double Confirmation()
    {
        var least = MostConfirmation;
        foreach (var step in Family("step-time"))
        {
            var slowest = Family("drain-time").Where(d => d.IsLearned && d.Centre >= HealthReader.ShortestDrain && step.IsLearned && step.Name == $"step-time/{d.Name["drain-time/".Length..]}/drain")
                .Select(d => d.Centre).DefaultIfEmpty(0).Max();
            least = slowest > 0 ? Math.Clamp(step.Centre - slowest, 0, least) : least;
        }

        return least < MostConfirmation ? least : 0;
    }

    private static bool IsOfHealth(Feature figure) =>
        Families.Contains(figure.Family) || (figure.Name.StartsWith("step-time/", StringComparison.Ordinal) && figure.Name.EndsWith("/drain", StringComparison.Ordinal));

    /// <summary>Figures of a family, learned, at a station.</summary>
    public IEnumerable<FeatureNorm> Learned(string family, int station, string part = "") =>
        Family(family).Where(n => n.Station == station && n.IsLearned && _cycle - n.Seen <= StillOccurs && (part.Length == 0 || n.Part == part));

    public int Cycle
    {
        get => _cycle;
        init => _cycle = value;
    }

    public void NextCycle() => _cycle++;

    /// <summary>Another recipe or another version of it.</summary>
    public void NewRecipe()
    {
        foreach (var norm in Norms.Values)
        {
            if (OfTheRecipe.Contains(norm.Family))
            {
                norm.Restart(carry: true);
            }
        }
    }

    /// <summary>Something was done to a part: figures that tell of it are learned anew.</summary>
    public void Restart(Func<FeatureNorm, bool> which)
    {
        foreach (var norm in Norms.Values)
        {
            if (which(norm))
            {
                norm.Restart(carry: false);
            }
        }
    }

    /// <summary>After <see cref="Norms"/> was filled from a snapshot.</summary>
    public void Index()
    {
        foreach (var (key, norm) in Norms)
        {
            var parts = key.Split('@');
            Enter(norm, parts[0], parts.Length > 1 ? int.Parse(parts[1]) : 0);
        }
    }

    private List<FeatureNorm> Family(string family) => _byFamily.GetValueOrDefault(family) ?? [];

    private void Enter(FeatureNorm norm, string name, int station)
    {
        norm.Name = name;
        norm.Station = station;
        norm.Family = Feature.FamilyOf(name);
        norm.Part = HealthReader.Part(name);
        _places.Set(name, station, norm);
        if (!_byFamily.TryGetValue(norm.Family, out var family))
        {
            _byFamily.Add(norm.Family, family = []);
        }

        // In the order of the keys, however they came: what is remembered must tell the same.
        var at = family.FindIndex(n => string.CompareOrdinal(Feature.KeyOf(n.Name, n.Station), Feature.KeyOf(name, station)) > 0);
        family.Insert(at < 0 ? family.Count : at, norm);
    }
}
