using System.Text.Json;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Pipeline;
using WashBridge.Scans;

namespace WashBridge.Orders;

/// <summary>
/// What the service takes on the loopback interface, each as JSON in a POST: <c>/scans</c>, <c>/maintenance</c> and <c>/alarm-orders</c>. Answered with 201 and the
/// event's id once it is committed; with 400 and the reason if it cannot be taken, with 409 if it does not fit how the alarm stands.
/// </summary>
internal static class Endpoints
{
    public const string Maintenance = "maintenance";
    public const string AlarmOrders = "alarm-orders";

    private const int LongestBody = 4096;

    public static void Listen(KestrelServerOptions server, int port)
    {
        server.AddServerHeader = false;
        server.ListenLocalhost(port);
        server.Limits.MaxRequestBodySize = LongestBody;
    }

    public static void Map(IEndpointRouteBuilder routes)
    {
        routes.MapPost("/scans", ScanEndpoint.TakeAsync);
        routes.MapPost("/" + Maintenance, context => TakeAsync<ToldMaintenance>(
            context,
            "{\"washer\": \"w1\", \"component\": \"drain-valve@2\", \"work\": \"replaced\", \"by\": \"name\"}",
            (told, site, _, now) => Telling.Maintenance(told, Telling.WashersOf(site), now)));
        routes.MapPost("/" + AlarmOrders, context => TakeAsync<ToldOrder>(
            context,
            "{\"washer\": \"w1\", \"alarm\": \"drain-valve@2\", \"order\": \"acknowledge\", \"by\": \"name\"}",
            (told, site, historian, now) => Telling.Order(told, Telling.WashersOf(site), AlarmBoard.Read(historian, told.Washer), now)));
    }

    /// <summary>The body, or null if it is not JSON of this form. What a browser sends from a page without asking is no JSON, and not taken.</summary>
    public static async Task<T?> ReadAsync<T>(HttpContext context)
        where T : class
    {
        try
        {
            return await context.Request.ReadFromJsonAsync<T>(context.RequestAborted);
        }
        catch (Exception unreadable) when (unreadable is JsonException or InvalidOperationException or Microsoft.AspNetCore.Http.BadHttpRequestException)
        {
            return null;
        }
    }

    public static async Task AnswerAsync(HttpContext context, int status, string text)
    {
        context.Response.StatusCode = status;
        context.Response.ContentType = "text/plain; charset=utf-8";
        await context.Response.WriteAsync(text + "\n");
    }

    private static async Task TakeAsync<T>(HttpContext context, string example, Func<T, Site, IHistorian, DateTimeOffset, WashEvent> make)
        where T : class
    {
        var services = context.RequestServices;
        if (await ReadAsync<T>(context) is not { } told)
        {
            await AnswerAsync(context, StatusCodes.Status400BadRequest, $"needs JSON like {example}");
            return;
        }

        try
        {
            var historian = services.GetRequiredService<IHistorian>();
            var made = make(told, services.GetRequiredService<Site>(), historian, services.GetRequiredService<TimeProvider>().GetUtcNow());
            services.GetRequiredService<Bridge>().Signal.Publish(historian.AppendEvents([made]));
            await AnswerAsync(context, StatusCodes.Status201Created, made.Id);
        }
        catch (TellingException refused)
        {
            await AnswerAsync(context, refused.IsConflict ? StatusCodes.Status409Conflict : StatusCodes.Status400BadRequest, refused.Message);
        }
    }
}
