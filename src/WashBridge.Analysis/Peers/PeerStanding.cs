using System.Text.Json.Serialization;

namespace WashBridge.Analysis.Peers;

/// <summary>What can be said of one among its peers.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<PeerState>))]
public enum PeerState
{
    /// <summary>No more unlike than chance, the spread between peers, or the sensors explain.</summary>
    Alike = 0,

    /// <summary>More unlike than chance and the spread between peers explain.</summary>
    StandsOut = 1,

    /// <summary>It differs by more than cycles scatter and sensors may be off by, but there are too few peers to say whether that is unusual.</summary>
    TooFewPeers = 2,
}

/// <summary>How one washer stands among the washers, or one station among its washer's stations, in one figure.</summary>
public sealed record PeerStanding
{
    public required string Washer { get; init; }

    /// <summary>1 to 8; 0: the washer among washers.</summary>
    public required int Station { get; init; }

    /// <summary>Name of the figure, without station.</summary>
    public required string Feature { get; init; }

    /// <summary>Only cycles of this recipe and version are compared; null: the figure does not depend on it.</summary>
    public string? Recipe { get; init; }

    /// <summary>UCUM, of all values here; empty for ratios and counts.</summary>
    public required string Unit { get; init; }

    /// <summary>How many cycles stand behind it.</summary>
    public required int Cycles { get; init; }

    /// <summary>Over those cycles.</summary>
    public required double Median { get; init; }

    /// <summary>From the median of the peers' levels; of a station cycle by cycle, so that what moves all of them alike drops out.</summary>
    public required double Difference { get; init; }

    /// <summary>Standard uncertainty of the difference from the scatter of cycles alone, following values allowed to hang together.</summary>
    public required double Uncertainty { get; init; }

    /// <summary>How many were compared with one another, itself included: washers, or stations of the same washer.</summary>
    public required int Peers { get; init; }

    /// <summary>Chance that one of all that are compared differs at least so much though all are alike; null: too few to tell how much peers differ by nature.</summary>
    public double? Probability { get; init; }

    public required PeerState State { get; init; }

    /// <summary>Where the peers stand.</summary>
    public double PeersMedian => Median - Difference;

    /// <summary>Washer, or washer and station as <c>north@2</c>.</summary>
    [JsonIgnore]
    public string Who => Station == 0 ? Washer : $"{Washer}@{Station}";
}
