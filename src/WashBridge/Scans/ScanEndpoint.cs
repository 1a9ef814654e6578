using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Orders;

namespace WashBridge.Scans;

/// <summary>What a scanner posts: the keg that stands at a station now.</summary>
internal sealed record Scan(string? Washer, int? Station, string? Keg, string? By = null);

/// <summary>
/// <c>POST /scans</c> with <c>{"washer": "...", "station": 1, "keg": "..."}</c>. Answered with 201 once the scan is committed, with 400 and a
/// reason if it names nothing the site has, with 409 by a bridge that only copies another one.
/// </summary>
internal static class ScanEndpoint
{
    private const int LongestKegId = 64;

    public static async Task TakeAsync(HttpContext context)
    {
        var services = context.RequestServices;
        if (await Endpoints.ReadAsync<Scan>(context) is not { } scan)
        {
            await Endpoints.AnswerAsync(context, StatusCodes.Status400BadRequest, "a scan is JSON like {\"washer\": \"w1\", \"station\": 1, \"keg\": \"K-0042\"}");
            return;
        }

        if (Problem(scan, services.GetRequiredService<Site>()) is { } problem)
        {
            await Endpoints.AnswerAsync(context, StatusCodes.Status400BadRequest, problem);
            return;
        }

        try
        {
            // A hand scanner has no name to give: the scan is then nobody's.
            var teller = Endpoints.TellerOf(services, scan.By);
            var made = services.GetRequiredService<RecordDesk>().Take((_, now) => Made(scan, now, teller));
            await Endpoints.AnswerAsync(context, StatusCodes.Status201Created, made.Id);
        }
        catch (TellingException refused)
        {
            await Endpoints.AnswerAsync(context, refused);
        }
    }

    /// <summary>What is wrong with a scan, or null.</summary>
    internal static string? Problem(Scan scan, Site site)
    {
        if (site.Washers.FirstOrDefault(w => w.Model.Washer == scan.Washer) is not { } washer)
        {
            return $"washer: found {scan.Washer ?? "nothing"}; this site has {string.Join(", ", site.Washers.Select(w => w.Model.Washer))}";
        }

        if (scan.Station is not { } station || station < 1 || station > washer.Model.Stations)
        {
            return $"station: found {scan.Station?.ToString() ?? "nothing"}; {scan.Washer} has 1 to {washer.Model.Stations}";
        }

        return string.IsNullOrWhiteSpace(scan.Keg) || scan.Keg.Length > LongestKegId || scan.Keg.Any(char.IsControl)
            ? $"keg: needs 1 to {LongestKegId} characters without control characters"
            : null;
    }

    internal static KegScanned Made(Scan scan, DateTimeOffset now, Teller teller)
    {
        var at = TellingChecks.Now(now);
        return new KegScanned
        {
            Id = $"{scan.Washer}/s{scan.Station}/scanned/{at.Latest}",
            Washer = scan.Washer!,
            At = at,
            Station = scan.Station!.Value,
            KegId = scan.Keg!.Trim(),
            By = teller.Name ?? (string.IsNullOrWhiteSpace(scan.By) ? null : TellingChecks.By(scan.By, teller)),
            Entered = TellingChecks.Entered(now, teller with { Means = teller.Means == Means.Api ? Means.Scanner : teller.Means }),
        };
    }
}
