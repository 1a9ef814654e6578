using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Components.Endpoints;
using WashBridge.Web.Accounts;

namespace WashBridge.Web;

/// <summary>
/// What is sent in the name of a cookie carries a token of a form or of a page besides, at every address that is there or will be. Pages check that themselves; a
/// program's token comes in a header that no other site can make a browser send.
/// </summary>
internal static class CookieGuard
{
    public static async Task CheckAsync(HttpContext context, Func<Task> next)
    {
        var isPage = context.GetEndpoint()?.Metadata.GetMetadata<ComponentTypeMetadata>() is not null;
        if (!isPage && !OriginCheck.IsSafe(context.Request.Method) && context.User.Identity?.AuthenticationType == Schemes.Session
            && !await context.RequestServices.GetRequiredService<IAntiforgery>().IsRequestValidAsync(context))
        {
            await Refusals.WriteAsync(context, StatusCodes.Status400BadRequest, $"the request comes with a cookie and without the form's token; a page sends it as the field {WebSite.FormToken} or the header {WebSite.FormTokenHeader}, a program uses a token instead of a cookie");
            return;
        }

        await next();
    }
}
