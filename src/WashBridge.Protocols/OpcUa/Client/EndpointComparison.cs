using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>
/// Discovery is not protected: somebody on the way may have left out the stronger endpoints. So what the session tells under protection must say the same, in the
/// fields that OPC 10000-4, 5.7.2 names.
/// </summary>
internal static class EndpointComparison
{
    /// <summary>Null if both say the same; else what differs.</summary>
    public static string? Difference(IReadOnlyList<EndpointDescription> discovered, IReadOnlyList<EndpointDescription> confirmed)
    {
        var claimed = discovered.Select(Essence).ToHashSet();
        var real = confirmed.Select(Essence).ToHashSet();
        var onlyClaimed = claimed.Except(real).ToList();
        var onlyReal = real.Except(claimed).ToList();
        return (onlyClaimed, onlyReal) switch
        {
            ([], []) => null,
            ({ Count: > 0 }, _) => $"discovery told of {onlyClaimed[0]}, the session does not",
            _ => $"the session tells of {onlyReal[0]}, discovery did not",
        };
    }

    private static string Essence(EndpointDescription endpoint)
    {
        var tokens = endpoint.UserIdentityTokens.Select(t => $"{t.TokenType} {t.PolicyId} {Fragment(t.SecurityPolicyUri)}".TrimEnd()).Order(StringComparer.Ordinal);
        return $"{endpoint.SecurityMode} {Fragment(endpoint.SecurityPolicyUri)} level {endpoint.SecurityLevel} at {Address(endpoint.EndpointUrl)} of {endpoint.Server.ApplicationUri} for [{string.Join(", ", tokens)}]";
    }

    private static string? Fragment(string? uri) => uri?.Split('#')[^1];

    /// <summary>Host names are compared without regard to capitals, and a slash at the end does not count.</summary>
    private static string? Address(string? url) => Uri.TryCreate(url, UriKind.Absolute, out var parsed) ? parsed.GetLeftPart(UriPartial.Path).TrimEnd('/') : url;
}
