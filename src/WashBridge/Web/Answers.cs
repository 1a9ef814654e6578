namespace WashBridge.Web;

internal static class Answers
{
    /// <summary>The page says itself what is not there: the answer is 404, but with the page. A status that is set before a page is rendered leaves the page out.</summary>
    public static void NotFoundButShown(this HttpContext context) => context.Response.OnStarting(() =>
    {
        context.Response.StatusCode = StatusCodes.Status404NotFound;
        return Task.CompletedTask;
    });
}
