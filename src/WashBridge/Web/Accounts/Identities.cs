using System.Security.Claims;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>How name and role stand in a request's principal.</summary>
internal static class Identities
{
    public static ClaimsPrincipal Make(string scheme, string? name, Role role, params IEnumerable<Claim> more)
    {
        var identity = new ClaimsIdentity(more, scheme, ClaimTypes.Name, ClaimTypes.Role);
        identity.AddClaim(new Claim(ClaimTypes.Role, role.ToString()));
        if (name is not null)
        {
            identity.AddClaim(new Claim(ClaimTypes.Name, name));
        }

        return new ClaimsPrincipal(identity);
    }

    public static bool TryRole(ClaimsPrincipal user, out Role role) =>
        Enum.TryParse(user.FindFirstValue(ClaimTypes.Role), out role) && Enum.IsDefined(role);
}
