using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>Which of the kinds of user that an endpoint accepts is ours (OPC 10000-4, 7.42).</summary>
internal static class UserTokenChoice
{
    /// <summary>The one best protected; null if there is none. A policy not known here cannot be used.</summary>
    public static (UserTokenPolicy Token, SecurityPolicy Policy)? Choose(EndpointDescription endpoint, SecurityPolicy channelPolicy, UserIdentity identity)
    {
        var kind = identity switch
        {
            UserIdentity.NamedUser => UserTokenType.UserName,
            UserIdentity.CertificateUser => UserTokenType.Certificate,
            _ => UserTokenType.Anonymous,
        };
        (UserTokenPolicy Token, SecurityPolicy Policy)? best = null;
        foreach (var token in endpoint.UserIdentityTokens.Where(t => t.TokenType == kind))
        {
            var policy = string.IsNullOrEmpty(token.SecurityPolicyUri) ? channelPolicy : SecurityPolicy.Find(token.SecurityPolicyUri);
            if (policy is not null && (best is null || policy.Strength > best.Value.Policy.Strength))
            {
                best = (token, policy);
            }
        }

        return best;
    }

    public static string List(EndpointDescription endpoint) => endpoint.UserIdentityTokens.Count == 0
        ? "no kind of user"
        : string.Join(", ", endpoint.UserIdentityTokens.Select(t => string.IsNullOrEmpty(t.SecurityPolicyUri) ? $"{t.TokenType}" : $"{t.TokenType} ({t.SecurityPolicyUri.Split('#')[^1]})").Distinct());
}
