using WashBridge.Core.Records;
using WashBridge.Orders;

namespace WashBridge.Web.Accounts;

/// <summary>In whose name something is told: who logged in, or where nobody logs in, who was named. Forms ask by the part NameField.</summary>
internal sealed class Acting(CurrentUser user, IHttpContextAccessor http)
{
    public const string NameCookie = "washbridge-name";
    public const int LongestName = 64;

    private static readonly TimeSpan RememberedFor = TimeSpan.FromDays(365);

    /// <summary>What was typed on this device last; null where somebody is logged in.</summary>
    public string? Remembered => user.IsLoggedIn || http.HttpContext?.Request.Cookies[NameCookie] is not { Length: > 0 and <= LongestName } name || name.Any(char.IsControl) ? null : name;

    /// <param name="told">What the form or the request says; may be left out by somebody who is logged in.</param>
    /// <exception cref="TellingException">Nobody is named, or somebody else than is logged in.</exception>
    public string Name(string? told)
    {
        var name = told?.Trim() ?? "";
        if (user.IsLoggedIn)
        {
            return name.Length == 0 || name == user.Name
                ? user.Name!
                : throw new TellingException($"by: found '{Short(name)}'; logged in is '{user.Name}', and nobody may sign for somebody else");
        }

        if (name.Length is 0 or > LongestName || name.Any(char.IsControl))
        {
            throw new TellingException($"by: found {(name.Length == 0 ? "nothing" : $"'{Short(name)}'")}; who did it must be named, in 1 to {LongestName} characters without control characters");
        }

        Remember(name);
        return name;
    }

    /// <summary>Who tells something by a form of a page.</summary>
    /// <exception cref="TellingException">As of <see cref="Name"/>.</exception>
    public Teller Teller(string? told) => new(user.Means, Name(told), user.ActingRole);

    private static string Short(string name) => name.Length > LongestName ? name[..LongestName] + "..." : name;

    private void Remember(string name)
    {
        if (http.HttpContext is { Response.HasStarted: false } context && user.Means == Means.Page)
        {
            context.Response.Cookies.Append(NameCookie, name, new CookieOptions { HttpOnly = true, SameSite = SameSiteMode.Strict, Secure = context.Request.IsHttps, MaxAge = RememberedFor, Path = "/" });
        }
    }
}
