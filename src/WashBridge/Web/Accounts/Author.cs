using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>Who changes an account.</summary>
/// <param name="Name">Empty where nobody said.</param>
/// <param name="Role">As which logged in; null: nobody logs in there.</param>
/// <param name="Means">By which way.</param>
internal sealed record Author(string Name, Role? Role, Means Means)
{
    /// <summary>The program itself, such as for a lock-out.</summary>
    public static Author Program { get; } = new("WashBridge", null, Means.Page);

    public static Author Of(CurrentUser user) => new(user.Name ?? "", user.ActingRole, user.Means);
}
