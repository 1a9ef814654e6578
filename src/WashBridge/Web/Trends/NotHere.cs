using Microsoft.AspNetCore.Diagnostics;

namespace WashBridge.Web.Trends;

/// <summary>Answers 404 with the page's own words: they say what there is, which the general page cannot.</summary>
internal static class NotHere
{
    public static void Say(IHttpContextAccessor http)
    {
        var context = http.HttpContext!;
        context.Response.StatusCode = StatusCodes.Status404NotFound;
        if (context.Features.Get<IStatusCodePagesFeature>() is { } general)
        {
            general.Enabled = false;
        }
    }
}
