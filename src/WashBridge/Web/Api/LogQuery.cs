using System.ComponentModel;
using Microsoft.AspNetCore.Mvc;
using WashBridge.Configuration;
using WashBridge.Historian;

namespace WashBridge.Web.Api;

/// <summary>By what every page of the log is asked for. The document of the API reads descriptions of properties only.</summary>
internal sealed record LogQuery(
    IHistorian Historian,
    Site Site,
    [property: FromQuery(Name = "washer"), Description(ApiEndpoints.WasherText)] string? Washer,
    [property: FromQuery(Name = "from"), Description("Only what can have happened at or after this instant: ISO 8601 with zone, such as 2031-03-05T14:00:00Z.")] string? From,
    [property: FromQuery(Name = "until"), Description("Only what can have happened before this instant.")] string? Until,
    [property: FromQuery(Name = "after"), Description("The cursor 'next' of the page before; left out: from the beginning.")] string? After,
    [property: FromQuery(Name = "limit"), Description(ApiEndpoints.LimitText)] string? Limit)
{
    /// <exception cref="ApiException">Something that is asked for cannot be read.</exception>
    public EventPage Page(params IReadOnlyCollection<string> kinds) => EventPages.Read(
        Historian,
        kinds,
        ApiQuery.Washer(Washer, Site),
        ApiQuery.Time("from", From),
        ApiQuery.Time("until", Until),
        ApiQuery.After(After),
        ApiQuery.Limit(Limit));
}
