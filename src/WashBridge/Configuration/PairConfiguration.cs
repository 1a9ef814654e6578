using System.Security.Cryptography.X509Certificates;

namespace WashBridge.Configuration;

/// <summary>Another bridge that reads the same washers: the two keep one log.</summary>
/// <param name="Partner">Where its pages are.</param>
internal sealed record PairConfiguration(Uri Partner)
{
    /// <summary>Reads where both could: so say exactly one of the two.</summary>
    public bool IsFirst { get; init; }

    /// <summary>A token of the partner's, of any role, already read from its environment variable or file; null: the partner asks for no login.</summary>
    public string? Secret { get; init; }

    /// <summary>Who may vouch for the partner's certificate; none: the authorities that the machine trusts.</summary>
    public IReadOnlyList<X509Certificate2> Authorities { get; init; } = [];

    /// <summary>After so long without an answer from the one that reads, the other does: 2 s to 5 min.</summary>
    public TimeSpan TakeOverAfter { get; init; } = TimeSpan.FromSeconds(10);
}
