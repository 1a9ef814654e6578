using WashBridge.Configuration;

namespace WashBridge.Web.Trends;

/// <summary>Washers of the site by their ids.</summary>
internal static class SiteWashers
{
    public static WasherConfiguration? Find(this Site site, string? id) => site.Washers.FirstOrDefault(w => w.Model.Washer == id);

    /// <summary>For people; a washer that the site no longer has keeps its id.</summary>
    public static string TitleOf(this Site site, string id) => site.Find(id) is { Title.Length: > 0 } washer ? washer.Title : id;
}
