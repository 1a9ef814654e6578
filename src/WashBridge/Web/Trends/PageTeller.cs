using WashBridge.Core.Records;
using WashBridge.Orders;
using WashBridge.Web.Accounts;

namespace WashBridge.Web.Trends;

/// <summary>Who tells something by a form of a page.</summary>
internal sealed class PageTeller(CurrentUser user, Acting acting)
{
    /// <param name="by">As the form has it; may be left out by somebody who is logged in.</param>
    /// <exception cref="TellingException">Nobody is named, or somebody else than is logged in.</exception>
    public Teller Of(string? by) => new(Means.Page, acting.Name(by), user.ActingRole);
}
