using System.Security.Claims;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>
/// Who sent the request that is being answered. Pages take it as a cascading parameter or inject it. Where the site asks for no login, which is allowed on loopback
/// only, everybody at the machine may do all, and nobody has a name.
/// </summary>
/// <param name="Name">As logged in, or the name of the token; null: nobody logged in.</param>
/// <param name="Role">What may be done.</param>
/// <param name="IsLoggedIn">By password, the site's identity provider or a token.</param>
/// <param name="Means">By which way the request came.</param>
public sealed record CurrentUser(string? Name, Role Role, bool IsLoggedIn, Means Means)
{
    /// <summary>Somebody who must log in and has not: may do nothing, whatever the role says.</summary>
    public bool IsStranger { get; init; }

    /// <summary>Somebody else chose the password: nothing but another one may be told.</summary>
    public bool MustChangePassword { get; init; }

    /// <summary>Whether the pages are open to this person.</summary>
    public bool IsIn => !IsStranger && !MustChangePassword;

    /// <summary>What a record says: null where nobody logs in.</summary>
    public Role? ActingRole => IsLoggedIn ? Role : null;

    /// <summary>Whether this person may do what is for that role and those above it. The server refuses what is not allowed; this is for leaving it off a page.</summary>
    public bool May(Role least) => !IsStranger && Role >= least;

    internal static CurrentUser Of(HttpContext? context) => Of(context?.User ?? new ClaimsPrincipal());

    internal static CurrentUser Of(ClaimsPrincipal user)
    {
        if (user.Identity is not { IsAuthenticated: true } identity || !Identities.TryRole(user, out var role))
        {
            return new CurrentUser(null, Role.Viewer, IsLoggedIn: false, Means.Page) { IsStranger = true };
        }

        return identity.AuthenticationType == Schemes.Open
            ? new CurrentUser(null, role, IsLoggedIn: false, Means.Page)
            : new CurrentUser(identity.Name, role, IsLoggedIn: true, identity.AuthenticationType == Schemes.Token ? Means.Api : Means.Page)
            {
                MustChangePassword = user.HasClaim(c => c.Type == SessionCookie.MustChangeClaim),
            };
    }
}
