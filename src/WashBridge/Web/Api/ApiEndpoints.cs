using System.ComponentModel;
using System.ComponentModel.DataAnnotations;
using Microsoft.AspNetCore.Mvc;
using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Signals;
using WashBridge.Historian;
using WashBridge.Web.Accounts;

namespace WashBridge.Web.Api;

/// <summary>The same data as on the pages, for programs: <c>/api/v1</c>.</summary>
internal static class ApiEndpoints
{
    public const string Root = "/api/v1";
    public const int MostPoints = 5000;

    public const string WasherText = "A washer's id; left out: all.";
    public const string LimitText = "Rows of a page, 1 to 1000; left out: 100.";

    private static readonly TimeSpan LongestRaw = TimeSpan.FromDays(1);
    private static readonly TimeSpan LongestReduced = TimeSpan.FromDays(31);

    public static void Map(IEndpointRouteBuilder routes)
    {
        var api = routes.MapGroup(Root).RequireAuthorization(Policies.View).AddEndpointFilterFactory(ApiFilter.Make).ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status401Unauthorized).ProducesProblem(StatusCodes.Status429TooManyRequests);
        api.MapGet("/washers", (Site site) => site.Washers.Select(w => new WasherAnswer(w.Model.Washer, w.Title, w.Model.Stations)).ToList())
            .WithSummary("The site's washers").WithTags("Site");
        api.MapGet("/cycles", ([AsParameters] LogQuery asked) => asked.Page("cycle-ended")).WithSummary("Cycles that have ended").WithTags("Cycles");
        api.MapGet("/cycles/{id}", Cycle).WithSummary("One cycle with all that is known of it").WithTags("Cycles").ProducesProblem(StatusCodes.Status404NotFound);
        api.MapGet("/kegs", ([AsParameters] LogQuery asked) => asked.Page("keg-judged")).WithSummary("Kegs that were judged").WithTags("Kegs");
        api.MapGet("/kegs/keg", Keg).WithSummary("One keg with its history").WithTags("Kegs").ProducesProblem(StatusCodes.Status404NotFound);
        api.MapGet("/signals", Signals).WithSummary("The signals that are kept").WithTags("Signals");
        api.MapGet("/signals/samples", Samples).WithSummary("One signal in a period").WithTags("Signals").ProducesProblem(StatusCodes.Status404NotFound);
        api.MapGet("/alarms", Alarms).WithSummary("Alarms as they stand").WithTags("Alarms");
        api.MapGet("/alarms/changes", ([AsParameters] LogQuery asked) => asked.Page("alarm-changed")).WithSummary("How alarms changed").WithTags("Alarms");
        api.MapGet("/forecasts", Forecasts).WithSummary("What will need maintenance, and when").WithTags("Upkeep");
        api.MapGet("/records", Records).WithSummary("What people are answerable for, as the chain of records holds it").WithTags("Records");
        api.MapGet("/events", Events).WithSummary("All events of the log, by kind").WithTags("Log");
        Orders.Endpoints.Map(api.MapGroup("").RequireAuthorization(Policies.Operate).WithMetadata(new RequestSizeLimitAttribute(Listening.LongestOrder)));
    }

    private static CycleAnswer Cycle(IHistorian historian, [Description("The cycle's id, such as north-20310305T081502.250.")] string id)
    {
        var events = historian.ReadEvents(new EventQuery { CycleId = ApiQuery.Id("id", id), AtMost = ApiQuery.MostRows });
        return events.Count > 0 ? new CycleAnswer(id, [.. events.Select(EventPages.Json)]) : throw new ApiException($"id: there is no cycle {ApiQuery.Found(id)}", StatusCodes.Status404NotFound);
    }

    // By query, as on the pages: what people and scanners put in ids, a path does not survive.
    private static KegAnswer Keg(IHistorian historian, [Description("The keg's id, as scanned."), Required] string? id)
    {
        var keg = ApiQuery.Id("id", id);
        var entries = historian.ReadKeg(keg);
        return entries.Count > 0
            ? new KegAnswer(keg, [.. entries.Select(e => new KegEntryAnswer(e.Sequence, e.Number, EventPages.Json(e.Event), e.Corrected is { } corrected ? EventPages.Json(corrected) : null))])
            : throw new ApiException($"id: nothing is known of a keg {ApiQuery.Found(keg)}", StatusCodes.Status404NotFound);
    }

    private static List<SignalAnswer> Signals(IHistorian historian, Site site, [Description(WasherText)] string? washer)
    {
        var only = ApiQuery.Washer(washer, site);
        return [.. historian.Signals.Where(s => only is null || s.Washer == only).OrderBy(s => s.Washer, StringComparer.Ordinal).ThenBy(s => s.Station).ThenBy(s => s.Name, StringComparer.Ordinal).Select(Answer)];
    }

    private static SamplesAnswer Samples(
        IHistorian historian,
        Site site,
        [Description("The washer's id."), Required] string? washer,
        [Description("1 to 8; left out or 0: the washer as a whole.")] string? station,
        [Description("The signal's name, such as caustic.temperature."), Required] string? name,
        [Description("Begin of the period, ISO 8601 with zone."), Required] string? from,
        [Description("End of the period: at most 1 day after its begin, or 31 days with points."), Required] string? until,
        [Description("Put samples together into at most so many points, 1 to 5000; left out: every sample.")] string? points)
    {
        var period = ApiQuery.Period(from, until, points is null ? LongestRaw : LongestReduced);
        var most = points is null ? (int?)null
            : int.TryParse(points, out var number) && number is >= 1 and <= MostPoints ? number
            : throw new ApiException($"points: found {ApiQuery.Found(points)}; allowed: 1 to {MostPoints}");
        var at = station is null ? 0 : int.TryParse(station, out var parsed) && parsed is >= 0 and <= 8 ? parsed : throw new ApiException($"station: found {ApiQuery.Found(station)}; allowed: 0 to 8");
        var only = ApiQuery.Washer(washer, site) ?? throw new ApiException($"washer: found nothing; allowed: {string.Join(", ", site.Washers.Select(w => w.Model.Washer))}");
        var signal = historian.Signals.FirstOrDefault(s => s.Washer == only && s.Station == at && s.Name == name)
            ?? throw new ApiException($"name: {only} has no signal {ApiQuery.Found(name)} of station {at}; {Root}/signals lists all", StatusCodes.Status404NotFound);
        var samples = historian.ReadSamples(signal, period.From, period.Until);
        return new SamplesAnswer(
            Answer(signal),
            period.From,
            period.Until,
            most is not null,
            most is { } wanted ? SamplePoints.Reduced(samples, period.From, period.Until, wanted, signal.Type == SignalType.Quantity) : SamplePoints.All(samples));
    }

    private static AlarmsAnswer Alarms(IHistorian historian, Site site, [Description(WasherText)] string? washer, [Description("true: also those that are over, or put aside.")] string? all)
    {
        var board = AlarmBoard.Read(historian, ApiQuery.Washer(washer, site));
        return new AlarmsAnswer([.. (ApiQuery.Flag("all", all) ? board.All : board.Open).Take(ApiQuery.MostRows).Select(EventPages.Json)]);
    }

    private static ForecastsAnswer Forecasts(IHistorian historian, Site site, [Description(WasherText)] string? washer)
    {
        var last = new SortedDictionary<string, ForecastMade>(StringComparer.Ordinal);
        foreach (var made in historian.ReadEvents(new EventQuery { Washer = ApiQuery.Washer(washer, site), Kinds = ["forecast-made"] }).OfType<ForecastMade>())
        {
            last[$"{made.Washer}/{made.Forecast.Component.Key}"] = made;
        }

        return new ForecastsAnswer([.. last.Values.Select(EventPages.Json)]);
    }

    private static RecordPage Records(IHistorian historian, [Description("The number 'next' of the page before; left out: from the first record.")] string? after, [Description(LimitText)] string? limit)
    {
        var (begin, most) = (ApiQuery.After(after), ApiQuery.Limit(limit));
        var records = historian.ReadRecords(begin, most);
        return new RecordPage(
            [.. records.Select(r => new RecordAnswer(r.Number, r.Sequence, r.Hash, EventPages.Json(r.Event)))],
            records.Count == most ? records[^1].Number : null);
    }

    private static EventPage Events([AsParameters] LogQuery asked, [Description("One kind, or several with commas, such as cycle-ended,keg-judged.")] string? kinds)
    {
        string[] wanted = kinds?.Split(',', StringSplitOptions.TrimEntries) ?? [.. WashJson.Kinds];
        return wanted.FirstOrDefault(k => !WashJson.Kinds.Contains(k)) is { } unknown
            ? throw new ApiException($"kinds: found {ApiQuery.Found(unknown)}; allowed: {string.Join(", ", WashJson.Kinds)}")
            : asked.Page(wanted);
    }

    private static SignalAnswer Answer(Signal signal) => new(signal.Washer, signal.Station, signal.Name, signal.Unit, signal.Type);
}
