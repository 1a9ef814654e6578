namespace WashBridge.Web.Accounts;

/// <summary>Ways in which a request can say who sent it.</summary>
internal static class Schemes
{
    /// <summary>Chooses among the others.</summary>
    public const string Any = "washbridge";

    /// <summary>No login: everybody who reaches the loopback interface.</summary>
    public const string Open = "open";

    /// <summary>A cookie that names a session which the server knows.</summary>
    public const string Session = "session";

    /// <summary><c>Authorization: Bearer</c> (RFC 6750, 2.1), which programs send.</summary>
    public const string Token = "token";

    /// <summary>The site's identity provider.</summary>
    public const string OpenIdConnect = "open-id-connect";
}
