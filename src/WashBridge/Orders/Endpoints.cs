using System.Text.Json;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Core.Records;
using WashBridge.Scans;
using WashBridge.Web.Accounts;

namespace WashBridge.Orders;

/// <summary>
/// What the service takes, each as JSON in a POST to an address of its own. Answered with 201 and the event's id once it is committed; with 400 and the reason if it
/// cannot be taken, with 403 if it is for others to tell, with 409 if it does not fit how things stand.
/// </summary>
internal static class Endpoints
{
    public const string Maintenance = "maintenance";
    public const string AlarmOrders = "alarm-orders";
    public const string KegDecisions = "keg-decisions";
    public const string Inspections = "inspections";
    public const string Titrations = "titrations";
    public const string Draws = "draws";
    public const string BathChanges = "bath-changes";
    public const string Corrections = "corrections";

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
        Map<ToldMaintenance>(
            routes,
            Maintenance,
            "{\"washer\": \"w1\", \"component\": \"drain-valve@2\", \"work\": \"replaced\", \"by\": \"name\"}",
            (told, site, _, now, teller) => Telling.Maintenance(told, Telling.WashersOf(site), now, teller));
        Map<ToldOrder>(
            routes,
            AlarmOrders,
            "{\"washer\": \"w1\", \"alarm\": \"drain-valve@2\", \"order\": \"acknowledge\", \"by\": \"name\"}",
            (told, site, historian, now, teller) => Telling.Order(told, Telling.WashersOf(site), AlarmBoard.Read(historian, told.Washer), now, teller));
        Map<ToldDecision>(
            routes,
            KegDecisions,
            "{\"keg\": \"K-0042\", \"decision\": \"hold\", \"by\": \"name\", \"reason\": \"valve leaks\"}",
            (told, _, historian, now, teller) => Telling.Decision(told, historian, now, teller));
        Map<ToldInspection>(
            routes,
            Inspections,
            "{\"keg\": \"K-0042\", \"kind\": \"spear-pull\", \"result\": \"passed\", \"found\": \"clean and dry\", \"by\": \"name\"}",
            (told, _, historian, now, teller) => Telling.Inspection(told, historian, now, teller));
        Map<ToldDraw>(
            routes,
            Draws,
            "{\"lot\": \"early shift\", \"from\": \"2031-03-05T06:00:00+01:00\", \"until\": \"2031-03-05T14:00:00+01:00\", \"exclude\": \"1%\", \"seed\": \"a seed\", \"by\": \"name\"}",
            (told, _, historian, now, teller) => Telling.Draw(told, historian, now, teller));
        Map<ToldTitration>(
            routes,
            Titrations,
            "{\"washer\": \"w1\", \"bath\": \"caustic\", \"strength\": 2.1, \"unit\": \"%\", \"by\": \"name\"}",
            (told, site, _, now, teller) => Telling.Titration(told, Telling.WashersOf(site), now, teller));
        Map<ToldBathChange>(
            routes,
            BathChanges,
            "{\"washer\": \"w1\", \"bath\": \"caustic\", \"by\": \"name\"}",
            (told, site, _, now, teller) => Telling.BathChange(told, Telling.WashersOf(site), now, teller));
        Map<ToldCorrection>(
            routes,
            Corrections,
            "{\"number\": 12, \"field\": \"strength\", \"value\": \"2.1\", \"by\": \"name\", \"reason\": \"slip of the pen\"}",
            (told, _, historian, now, teller) => Telling.Correction(told, historian, now, teller));
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

    /// <summary>Who is logged in, or nobody: then what is told says who.</summary>
    /// <exception cref="TellingException">Somebody is named who is not logged in.</exception>
    public static Teller TellerOf(IServiceProvider services, string? told)
    {
        var user = services.GetRequiredService<CurrentUser>();
        return user.IsLoggedIn ? new Teller(user.Means, services.GetRequiredService<Acting>().Name(told), user.ActingRole) : new Teller(Means.Api);
    }

    private static void Map<T>(IEndpointRouteBuilder routes, string path, string example, Func<T, Site, IHistorian, DateTimeOffset, Teller, WashEvent> make)
        where T : class, ITold => routes.MapPost("/" + path, context => TakeAsync(context, example, make));

    private static async Task TakeAsync<T>(HttpContext context, string example, Func<T, Site, IHistorian, DateTimeOffset, Teller, WashEvent> make)
        where T : class, ITold
    {
        var services = context.RequestServices;
        if (await ReadAsync<T>(context) is not { } told)
        {
            await AnswerAsync(context, StatusCodes.Status400BadRequest, $"needs JSON like {example}");
            return;
        }

        try
        {
            var teller = TellerOf(services, told.By);
            var made = services.GetRequiredService<RecordDesk>().Take((historian, now) => make(told, services.GetRequiredService<Site>(), historian, now, teller));
            await AnswerAsync(context, StatusCodes.Status201Created, made.Id);
        }
        catch (TellingException refused)
        {
            var status = refused.IsForbidden ? StatusCodes.Status403Forbidden : refused.IsConflict ? StatusCodes.Status409Conflict : StatusCodes.Status400BadRequest;
            await AnswerAsync(context, status, refused.Message);
        }
    }
}
