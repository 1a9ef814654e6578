using WashBridge.Historian;
using WashBridge.Web.Accounts;
using WashBridge.Web.Health;

namespace WashBridge.Pairing;

/// <summary>
/// Where the other of a pair reads this log, and where a load balancer asks which of the two takes what people and scanners tell. Both only look.
/// </summary>
internal static class PairEndpoint
{
    public const string Address = "/pair/log";

    /// <summary>200 at the one that reads, 503 at the other.</summary>
    public const string Reading = HealthEndpoints.Path + "/reading";

    private static readonly TimeSpan LongestWait = TimeSpan.FromSeconds(30);

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapMethods(Reading, [HttpMethods.Get, HttpMethods.Head], (ReadingRole role) => role.IsReading ? Results.Ok() : Results.StatusCode(StatusCodes.Status503ServiceUnavailable)).AllowAnonymous().ExcludeFromDescription();
        routes.MapGet(Address, (Delegate)TellAsync).RequireAuthorization(Policies.View).DisableRateLimiting().ExcludeFromDescription();
    }

    private static async Task TellAsync(HttpContext context, long after, int most, int wait)
    {
        var services = context.RequestServices;
        if (services.GetRequiredService<Pipeline.Bridge>().Pair is not { } pair)
        {
            context.Response.StatusCode = StatusCodes.Status404NotFound;
            return;
        }

        var time = services.GetRequiredService<TimeProvider>();
        var asked = time.GetUtcNow();
        var historian = services.GetRequiredService<IHistorian>();
        if (most > 0)
        {
            pair.Acknowledge(after);
        }

        if (most > 0 && wait > 0 && historian.LastSequence <= after)
        {
            await GrownAsync(services.GetRequiredService<Pipeline.HistorianSignal>(), after, TimeSpan.FromMilliseconds(Math.Min(wait, LongestWait.TotalMilliseconds)), time, context.RequestAborted);
        }

        var page = PairTeller.With(pair.Stands(asked), historian, after, most) with { Answered = time.GetUtcNow() };
        context.Response.ContentType = "application/json";
        using var body = new MemoryStream();
        PairPage.Write(body, page);
        await context.Response.Body.WriteAsync(body.GetBuffer().AsMemory(0, (int)body.Length), context.RequestAborted);
    }

    private static async Task GrownAsync(Pipeline.HistorianSignal signal, long after, TimeSpan wait, TimeProvider time, CancellationToken cancellation)
    {
        using var late = new CancellationTokenSource(wait, time);
        using var either = CancellationTokenSource.CreateLinkedTokenSource(late.Token, cancellation);
        try
        {
            await signal.WaitAsync(after, either.Token);
        }
        catch (OperationCanceledException) when (late.IsCancellationRequested)
        {
            // How it stands is an answer too.
        }
    }
}
