using Microsoft.AspNetCore.Mvc;

namespace WashBridge.Web;

/// <summary>Says no to a program in the form of RFC 9457.</summary>
internal static class Refusals
{
    public static async Task WriteAsync(HttpContext context, int status, string detail)
    {
        context.Response.StatusCode = status;
        await context.RequestServices.GetRequiredService<IProblemDetailsService>().TryWriteAsync(new ProblemDetailsContext
        {
            HttpContext = context,
            ProblemDetails = new ProblemDetails { Status = status, Detail = detail },
        });
    }
}
