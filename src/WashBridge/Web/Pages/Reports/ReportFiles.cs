using Microsoft.Net.Http.Headers;
using WashBridge.Configuration;
using WashBridge.Historian;
using WashBridge.Reporting;

namespace WashBridge.Web.Pages.Reports;

/// <summary>Reports as files. The one for reading opens in the browser, the others are taken home.</summary>
internal static class ReportFiles
{
    public const string Address = "/reports/file";

    /// <summary>A report brings its style along and has no script: it is allowed that, and nothing else at all (Content Security Policy Level 3, W3C).</summary>
    private const string Policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; sandbox allow-modals";

    public static readonly IReadOnlyList<ReportFormat> Formats = [ReportFormat.Html, ReportFormat.Pdf, ReportFormat.Csv, ReportFormat.Parquet, ReportFormat.Json];

    public static void Map(IEndpointRouteBuilder routes) => routes.MapGet(Address, async (HttpContext context, IHistorian historian, Site site, TimeProvider time) =>
    {
        var query = context.Request.Query;
        if (!Enum.TryParse<ReportFormat>(query["format"], ignoreCase: true, out var format) || !Formats.Contains(format))
        {
            return Results.Problem($"format: found '{query["format"]}'; allowed: {string.Join(", ", Formats.Select(Word))}", statusCode: StatusCodes.Status400BadRequest);
        }

        try
        {
            var document = ReportDesk.Make(WishQuery.Read(query, site.Zone, time.GetUtcNow()), historian, site, context.RequestAborted);

            // In memory first: a report that fails leaves no half of a file.
            var made = new MemoryStream();
            await ReportDesk.WriteAsync(document, format, made, context.RequestAborted);
            made.Position = 0;
            if (format == ReportFormat.Html)
            {
                context.Response.OnStarting(() =>
                {
                    context.Response.Headers[HeaderNames.ContentSecurityPolicy] = Policy;
                    return Task.CompletedTask;
                });
            }

            return Results.Stream(made, ReportDesk.MediaType(format), format == ReportFormat.Html ? null : ReportDesk.FileName(document, format));
        }
        catch (ReportWishException wrong)
        {
            return Results.Problem(wrong.Message, statusCode: StatusCodes.Status400BadRequest);
        }
    });

    public static string Word(ReportFormat format) => format.ToString().ToLowerInvariant();
}
