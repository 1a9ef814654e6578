using WashBridge.Core.Records;

namespace WashBridge.Web.Layout;

/// <summary>Somewhere one can go.</summary>
/// <param name="Address">Below the site's own.</param>
/// <param name="Key">Of its name in the texts, and with <c>.what</c> of the question that it answers.</param>
/// <param name="Group">Whose question that mostly is.</param>
/// <param name="IsMain">It stands at the top of every page.</param>
/// <param name="Least">Who may go there.</param>
internal sealed record Place(string Address, string Key, PlaceGroup Group, bool IsMain = false, Role Least = Role.Viewer)
{
    public static readonly IReadOnlyList<Place> All =
    [
        new("", "now", PlaceGroup.Line, IsMain: true),
        new("wall", "wall", PlaceGroup.Line),
        new("alarms", "alarms", PlaceGroup.Line, IsMain: true),
        new("baths", "baths", PlaceGroup.Line, IsMain: true),
        new("kegs", "kegs", PlaceGroup.Quality, IsMain: true),
        new("cycles", "cycles", PlaceGroup.Quality),
        new("sampling", "sampling", PlaceGroup.Quality),
        new("reports", "reports", PlaceGroup.Quality, IsMain: true),
        new("recipes", "recipes", PlaceGroup.Quality),
        new("records", "records", PlaceGroup.Quality),
        new("drift", "drift", PlaceGroup.Maintenance, IsMain: true),
        new("upkeep", "upkeep", PlaceGroup.Maintenance, IsMain: true),
        new("signals", "signals", PlaceGroup.Maintenance),
        new("data", "data", PlaceGroup.Setup),
        new("setup", "setup", PlaceGroup.Setup),
        new("users", "users", PlaceGroup.Setup, Least: Role.Administrator),
    ];
}

/// <summary>Whose questions a page answers first.</summary>
internal enum PlaceGroup
{
    Line,
    Quality,
    Maintenance,
    Setup,
}
