namespace WashBridge.Web.Trends;

/// <summary>
/// Answers 404 with the page's own words: they say what there is, which the general page cannot. The status is set at the last moment, because a page that has it is not rendered.
/// </summary>
internal static class NotHere
{
    public static void Say(IHttpContextAccessor http)
    {
        var response = http.HttpContext!.Response;
        response.OnStarting(() =>
        {
            response.StatusCode = StatusCodes.Status404NotFound;
            return Task.CompletedTask;
        });
    }
}
