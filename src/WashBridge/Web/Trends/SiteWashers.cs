using WashBridge.Configuration;

namespace WashBridge.Web.Trends;

/// <summary>Washers of the site by their ids.</summary>
internal static class SiteWashers
{
    /// <summary>Of so many washers a page tells everything at once. Of more it tells a line each, and the rest of one when it is chosen: else it would weigh megabytes.</summary>
    public const int MostAtOnce = 20;

    public static bool IsLarge(this Site site) => site.Washers.Count > MostAtOnce;

    public static WasherConfiguration? Find(this Site site, string? id) => site.Washers.FirstOrDefault(w => w.Model.Washer == id);

    /// <summary>For people; a washer that the site no longer has keeps its id.</summary>
    public static string TitleOf(this Site site, string id) => site.Find(id) is { Title.Length: > 0 } washer ? washer.Title : id;
}
