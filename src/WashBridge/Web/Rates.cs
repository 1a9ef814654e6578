using System.Globalization;
using System.Threading.RateLimiting;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.RateLimiting;
using WashBridge.Configuration;
using WashBridge.Web.Accounts;

namespace WashBridge.Web;

/// <summary>How many requests are taken a minute: few to the login, more with a token, many for pages, which keep themselves fresh.</summary>
internal static class Rates
{
    private static readonly TimeSpan Window = TimeSpan.FromMinutes(1);
    private const int Segments = 6;

    public static void Configure(RateLimiterOptions options, RequestRates rates)
    {
        options.RejectionStatusCode = StatusCodes.Status429TooManyRequests;
        options.GlobalLimiter = PartitionedRateLimiter.Create<HttpContext, string>(context => Partition(context, rates));
        options.OnRejected = (context, _) =>
        {
            context.HttpContext.Response.Headers.RetryAfter = ((int)Window.TotalSeconds).ToString(CultureInfo.InvariantCulture);
            return ValueTask.CompletedTask;
        };
    }

    private static RateLimitPartition<string> Partition(HttpContext context, RequestRates rates)
    {
        // The page about a refused request is no further request.
        if (context.Features.Get<IStatusCodeReExecuteFeature>() is not null)
        {
            return RateLimitPartition.GetNoLimiter("");
        }

        var address = context.Connection.RemoteIpAddress?.ToString() ?? "";
        if (context.User.Identity is { AuthenticationType: Schemes.Token, Name: { } token })
        {
            return Limit("token/" + token, rates.Api);
        }

        return context.Request.Path.StartsWithSegments(SessionCookie.LoginPath) && !OriginCheck.IsSafe(context.Request.Method) ? Limit("login/" + address, rates.Login)
            : ProgramAddresses.Cover(context.Request.Path) ? Limit("api/" + address, rates.Api)
            : Limit("pages/" + address, rates.Pages);
    }

    private static RateLimitPartition<string> Limit(string key, int most) => RateLimitPartition.GetSlidingWindowLimiter(
        key,
        _ => new SlidingWindowRateLimiterOptions { PermitLimit = most, Window = Window, SegmentsPerWindow = Segments, QueueLimit = 0 });
}
