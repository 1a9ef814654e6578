using System.Text.Json;
using Microsoft.AspNetCore.Mvc;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Historian;
using WashBridge.Core.Records;
using WashBridge.Recipes;
using WashBridge.Scans;
using WashBridge.Web;
using WashBridge.Web.Accounts;
using WashBridge.Web.Api;

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

    public const string RecipeActs = "recipe-acts";

    public static void Map(IEndpointRouteBuilder routes)
    {
        Describe<Scan>(routes.MapPost("/scans", (Delegate)ScanEndpoint.TakeAsync), "A keg that stands at a station now", "{\"washer\": \"w1\", \"station\": 1, \"keg\": \"K-0042\"}");
        Map<ToldMaintenance>(
            routes,
            Maintenance,
            "Work on a component",
            "{\"washer\": \"w1\", \"component\": \"drain-valve@2\", \"work\": \"replaced\", \"by\": \"name\"}",
            (told, site, _, now, teller) => Telling.Maintenance(told, Telling.WashersOf(site), now, teller));
        Map<ToldOrder>(
            routes,
            AlarmOrders,
            "An order about an alarm",
            "{\"washer\": \"w1\", \"alarm\": \"drain-valve@2\", \"order\": \"acknowledge\", \"by\": \"name\"}",
            (told, site, historian, now, teller) => Telling.Order(told, Telling.WashersOf(site), AlarmBoard.Read(historian, told.Washer), now, teller));
        Map<ToldDecision>(
            routes,
            KegDecisions,
            "A decision about a keg: hold, release, rewash",
            "{\"keg\": \"K-0042\", \"decision\": \"hold\", \"by\": \"name\", \"reason\": \"valve leaks\"}",
            (told, _, historian, now, teller) => Telling.Decision(told, historian, now, teller));
        Map<ToldInspection>(
            routes,
            Inspections,
            "What was found in or on a keg",
            "{\"keg\": \"K-0042\", \"kind\": \"spear-pull\", \"result\": \"passed\", \"found\": \"clean and dry\", \"by\": \"name\"}",
            (told, _, historian, now, teller) => Telling.Inspection(told, historian, now, teller));
        Map<ToldDraw>(
            routes,
            Draws,
            "A random choice of a lot's kegs to open",
            "{\"lot\": \"early shift\", \"from\": \"2031-03-05T06:00:00+01:00\", \"until\": \"2031-03-05T14:00:00+01:00\", \"exclude\": \"1%\", \"seed\": \"a seed\", \"by\": \"name\"}",
            (told, _, historian, now, teller) => Telling.Draw(told, historian, now, teller));
        Map<ToldTitration>(
            routes,
            Titrations,
            "The strength of a bath, titrated",
            "{\"washer\": \"w1\", \"bath\": \"caustic\", \"strength\": 2.1, \"unit\": \"%\", \"by\": \"name\"}",
            (told, site, _, now, teller) => Telling.Titration(told, Telling.WashersOf(site), now, teller));
        Map<ToldBathChange>(
            routes,
            BathChanges,
            "A bath was emptied and made up anew",
            "{\"washer\": \"w1\", \"bath\": \"caustic\", \"by\": \"name\"}",
            (told, site, _, now, teller) => Telling.BathChange(told, Telling.WashersOf(site), now, teller));
        Map<ToldCorrection>(
            routes,
            Corrections,
            "A correction of a record, which stays as it was",
            "{\"number\": 12, \"field\": \"strength\", \"value\": \"2.1\", \"by\": \"name\", \"reason\": \"slip of the pen\"}",
            (told, _, historian, now, teller) => Telling.Correction(told, historian, now, teller));
        Map<ToldRecipe>(
            routes,
            RecipeActs,
            "Do something to a version of a recipe: draft, submit, approve, refuse, withdraw, retire",
            "{\"recipe\": \"standard\", \"version\": 2, \"step\": \"approve\", \"by\": \"name\", \"reason\": \"as tried\"}",
            (told, site, historian, now, teller) => Telling.Recipe(told, site, historian, now, teller)).WithMetadata(new RequestSizeLimitAttribute(4 * RecipeText.LongestText));
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

    /// <summary>A line of text, and below the API what its clients expect: problem details, or the id as JSON.</summary>
    public static async Task AnswerAsync(HttpContext context, int status, string text)
    {
        if (context.Request.Path.StartsWithSegments(ApiEndpoints.Root))
        {
            context.Response.StatusCode = status;
            await (status < StatusCodes.Status400BadRequest ? context.Response.WriteAsJsonAsync(new Recorded(text)) : Refusals.WriteAsync(context, status, text));
            return;
        }

        context.Response.StatusCode = status;
        context.Response.ContentType = "text/plain; charset=utf-8";
        await context.Response.WriteAsync(text + "\n");
    }

    public static Task AnswerAsync(HttpContext context, TellingException refused) =>
        AnswerAsync(context, refused.IsForbidden ? StatusCodes.Status403Forbidden : refused.IsConflict ? StatusCodes.Status409Conflict : StatusCodes.Status400BadRequest, refused.Message);

    /// <summary>Who is logged in, or nobody: then what is told says who.</summary>
    /// <exception cref="TellingException">Somebody is named who is not logged in.</exception>
    public static Teller TellerOf(IServiceProvider services, string? told)
    {
        var user = services.GetRequiredService<CurrentUser>();
        return user.IsLoggedIn ? new Teller(user.Means, services.GetRequiredService<Acting>().Name(told), user.ActingRole) : new Teller(Means.Api);
    }

    private static RouteHandlerBuilder Map<T>(IEndpointRouteBuilder routes, string path, string summary, string example, Func<T, Site, IHistorian, DateTimeOffset, Teller, WashEvent> make)
        where T : class, ITold => Describe<T>(routes.MapPost("/" + path, (Delegate)((HttpContext context) => TakeAsync(context, example, make))), summary, example);

    private static RouteHandlerBuilder Describe<T>(RouteHandlerBuilder endpoint, string summary, string example)
        where T : notnull => endpoint.Accepts<T>("application/json").Produces<Recorded>(StatusCodes.Status201Created).ProducesProblem(StatusCodes.Status403Forbidden).ProducesProblem(StatusCodes.Status409Conflict)
            .WithSummary(summary).WithDescription($"Such as `{example}`. 'by' may be left out by who is logged in or has a token; another name is refused.").WithTags("Telling");

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
            await AnswerAsync(context, refused);
        }
    }
}

/// <summary>What was told is committed.</summary>
/// <param name="Id">Of the event; the same told again gives the same.</param>
internal sealed record Recorded(string Id);
