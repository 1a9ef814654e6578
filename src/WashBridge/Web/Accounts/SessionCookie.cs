using System.Security.Claims;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using WashBridge.Configuration;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>The cookie of a session: encrypted and signed, and nothing but the name of a session that the server knows.</summary>
internal static class SessionCookie
{
    /// <summary>Whether the password must be changed first.</summary>
    public const string MustChangeClaim = "must-change";

    /// <summary>Where to log in.</summary>
    public const string LoginPath = "/login";
    public const string AccountPath = "/account";
    public const string ReturnParameter = "to";

    public static string NameFor(HttpConfiguration http) => http.IsSecure ? "__Host-washbridge" : "washbridge-session";

    public static void Configure(CookieAuthenticationOptions options, HttpConfiguration http, TimeProvider time)
    {
        options.TimeProvider = time;
        options.Cookie.Name = NameFor(http);
        options.Cookie.HttpOnly = true;
        options.Cookie.SameSite = SameSiteMode.Strict;
        options.Cookie.SecurePolicy = http.IsSecure ? CookieSecurePolicy.Always : CookieSecurePolicy.None;
        options.Cookie.Path = "/";
        options.ExpireTimeSpan = http.Session.Longest;
        options.SlidingExpiration = false;
        options.Events = new CookieAuthenticationEvents
        {
            OnValidatePrincipal = ValidateAsync,
            OnRedirectToLogin = context => RefuseAsync(context.HttpContext, StatusCodes.Status401Unauthorized),
            OnRedirectToAccessDenied = context => RefuseAsync(context.HttpContext, StatusCodes.Status403Forbidden),
            OnSigningOut = context =>
            {
                if (context.HttpContext.User.FindFirstValue(ClaimTypes.Sid) is { } id)
                {
                    context.HttpContext.RequestServices.GetRequiredService<SessionBook>().End(id);
                }

                return Task.CompletedTask;
            },
        };
    }

    /// <summary>Begins a session; another that the browser had ends.</summary>
    public static Task BeginAsync(HttpContext context, string name, Role? role)
    {
        var sessions = context.RequestServices.GetRequiredService<SessionBook>();
        if (context.User.FindFirstValue(ClaimTypes.Sid) is { } before)
        {
            sessions.End(before);
        }

        var logger = context.RequestServices.GetRequiredService<ILogger<Session>>();
        AccessLog.LoggedIn(logger, name, context.Connection.RemoteIpAddress);
        return context.SignInAsync(Schemes.Session, Ticket(sessions.Begin(name, role)));
    }

    public static ClaimsPrincipal Ticket(string id) => new(new ClaimsIdentity([new Claim(ClaimTypes.Sid, id)], Schemes.Session));

    private static Task ValidateAsync(CookieValidatePrincipalContext context)
    {
        var request = context.HttpContext.Request;

        // A page that fetches its parts anew is not a person at work (Fetch Metadata Request Headers, W3C: Sec-Fetch-Dest).
        var isUse = request.Headers["Sec-Fetch-Dest"] != "empty" || !HttpMethods.IsGet(request.Method);
        var session = context.Principal?.FindFirstValue(ClaimTypes.Sid) is { } id ? context.HttpContext.RequestServices.GetRequiredService<SessionBook>().Find(id, isUse) : null;
        if (session is null)
        {
            context.RejectPrincipal();
            return Task.CompletedTask;
        }

        List<Claim> more = [new(ClaimTypes.Sid, context.Principal!.FindFirstValue(ClaimTypes.Sid)!), new(ClaimTypes.NameIdentifier, session.Key)];
        if (session.MustChange)
        {
            more.Add(new Claim(MustChangeClaim, "true"));
        }

        context.HttpContext.Items[typeof(Session)] = session;
        context.ReplacePrincipal(Identities.Make(Schemes.Session, session.Name, session.Role, more));
        return Task.CompletedTask;
    }

    /// <summary>A person is sent to the login; a program is told.</summary>
    private static Task RefuseAsync(HttpContext context, int status)
    {
        if (status == StatusCodes.Status401Unauthorized && IsForPerson(context.Request))
        {
            context.Response.Redirect($"{LoginPath}?{ReturnParameter}={Uri.EscapeDataString(context.Request.Path + context.Request.QueryString)}");
        }
        else
        {
            context.Response.StatusCode = status;
        }

        return Task.CompletedTask;
    }

    private static bool IsForPerson(HttpRequest request) =>
        HttpMethods.IsGet(request.Method) && !ProgramAddresses.Cover(request.Path) && !request.Path.StartsWithSegments("/live") && request.Headers["Sec-Fetch-Dest"] != "empty"
        && !request.Headers.Accept.ToString().Contains("json", StringComparison.OrdinalIgnoreCase);
}
