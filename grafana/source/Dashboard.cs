namespace WashBridge.Grafana;

internal enum PanelKind
{
    Stat = 0,
    Series = 1,
    Timeline = 2,
    Table = 3,
    Text = 4,
}

/// <summary>A page of panels. What it may filter by are the site, the washer and, where it says so, the station.</summary>
/// <param name="Uid">In its address and its file's name: it stays.</param>
/// <param name="Title">For people.</param>
/// <param name="Description">Who comes with which question.</param>
/// <param name="From">How far back it looks unless told otherwise, such as <c>now-6h</c>.</param>
/// <param name="Panels">In reading order; they flow from left to right, 24 columns wide.</param>
internal sealed record Dashboard(string Uid, string Title, string Description, string From, IReadOnlyList<Panel> Panels)
{
    /// <summary>For whom: a tag by which Grafana lists it.</summary>
    public required string For { get; init; }

    public bool HasStation { get; init; }

    /// <summary>WashBridge's own pages of the same matter.</summary>
    public IReadOnlyList<PageLink> Pages { get; init; } = [];
}

/// <summary>A link into WashBridge's own pages.</summary>
/// <param name="Title">For people.</param>
/// <param name="Path">Below the service's address.</param>
internal sealed record PageLink(string Title, string Path);

/// <summary>One question and the picture of its answer.</summary>
/// <param name="Kind">How it is shown.</param>
/// <param name="Title">For people.</param>
/// <param name="Description">What it says, and what to do about it.</param>
/// <param name="Query">InfluxQL; of a text, its Markdown.</param>
internal sealed record Panel(PanelKind Kind, string Title, string Description, string Query)
{
    /// <summary>Of 24.</summary>
    public int Width { get; init; } = 12;

    public int Height { get; init; } = 8;

    /// <summary>Grafana's name of the unit of all numbers, or <c>suffix: </c> and a unit of our own.</summary>
    public string Unit { get; init; } = "short";

    /// <summary>Other units, by column.</summary>
    public IReadOnlyList<(string Column, string Unit)> Units { get; init; } = [];

    public int? Decimals { get; init; }

    /// <summary>Looks back so far whatever the page's time is, such as <c>10m</c>; empty: as the page.</summary>
    public string Last { get; init; } = "";

    /// <summary>Names the lines: <c>$col</c> is the column, <c>$tag_washer</c> a tag.</summary>
    public string Legend { get; init; } = "";

    /// <summary>Bars that add up; else lines.</summary>
    public bool IsStacked { get; init; }

    /// <summary>Lines whose name matches are dashed: a limit is told from what is measured without colour.</summary>
    public string? Dashed { get; init; }

    /// <summary>Numbers that stand for words.</summary>
    public IReadOnlyList<(int From, int? To, string Word)> Words { get; init; } = [];

    /// <summary>Cells of a column lead to a page.</summary>
    public IReadOnlyList<(string Column, PageLink Page)> Links { get; init; } = [];
}
