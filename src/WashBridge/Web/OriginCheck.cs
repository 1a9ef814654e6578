using WashBridge.Web.Accounts;

namespace WashBridge.Web;

/// <summary>
/// Nothing that changes something is taken from another site, whatever cookies or openness would allow: browsers say where a request comes from (Origin, Fetch
/// standard 3.1; Sec-Fetch-Site, Fetch Metadata). Programs that are no browsers say nothing.
/// </summary>
internal static class OriginCheck
{
    public static Task CheckAsync(HttpContext context, Func<Task> next)
    {
        var request = context.Request;
        if (IsSafe(request.Method) || IsOurs(request))
        {
            return next();
        }

        var logger = context.RequestServices.GetRequiredService<ILoggerFactory>().CreateLogger(typeof(OriginCheck).FullName!);
        AccessLog.ForeignOrigin(logger, request.Method, request.Path, request.Headers.Origin.ToString());
        context.Response.StatusCode = StatusCodes.Status403Forbidden;
        return Task.CompletedTask;
    }

    public static bool IsSafe(string method) => HttpMethods.IsGet(method) || HttpMethods.IsHead(method) || HttpMethods.IsOptions(method) || HttpMethods.IsTrace(method);

    private static bool IsOurs(HttpRequest request)
    {
        var (origin, site) = (request.Headers.Origin.ToString(), request.Headers["Sec-Fetch-Site"].ToString());
        return (origin.Length == 0 || origin.Equals($"{request.Scheme}://{request.Host}", StringComparison.OrdinalIgnoreCase)) && (site is "" or "same-origin" or "none");
    }
}
