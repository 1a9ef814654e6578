using WashBridge.Core.Time;

namespace WashBridge.Reporting.Documents;

/// <summary>A report as data: what it says, on what it rests, and where every figure comes from. How it looks is left to whoever writes it.</summary>
internal sealed record Document
{
    /// <summary>Which report, such as <c>certificate</c>.</summary>
    public required string Kind { get; init; }

    public required string Title { get; init; }

    public required DocumentBasis Basis { get; init; }

    /// <summary>What it is about, in a few lines.</summary>
    public required IReadOnlyList<Fact> Facts { get; init; }

    public required IReadOnlyList<Section> Sections { get; init; }

    /// <summary>By number, from 1.</summary>
    public required IReadOnlyList<Trace> Traces { get; init; }

    /// <summary>What it claims, and what not.</summary>
    public required IReadOnlyList<string> Claims { get; init; }

    public IReadOnlyList<string> Cautions { get; init; } = [Words.Caution];

    /// <summary>All sections, with those that every report ends with.</summary>
    public IEnumerable<Section> WholeSections =>
    [
        .. Sections,
        new Section("Where the figures come from", [new Paragraph(TraceTable.HowTo), .. TraceTable.Of(Traces)]),
        new Section("What this claims, and what not", [.. Claims.Select(c => new Paragraph(c))]),
        new Section("Caution", [.. Cautions.Select(c => new Paragraph(c, ParagraphKind.Caution))]),
    ];
}

/// <summary>On what a report rests: with the same basis it comes out the same, byte for byte.</summary>
/// <param name="Site">Id and title of the site; empty where none was named.</param>
/// <param name="Zone">In which times are shown, each with its offset.</param>
/// <param name="Program">Name and version.</param>
/// <param name="LastSequence">The historian's last log entry when it was read.</param>
/// <param name="Records">The end of the chain of records, as <c>NUMBER:HASH</c>; null where there is no record.</param>
/// <param name="LastAt">The last instant that the log tells of; null in an empty historian.</param>
internal sealed record DocumentBasis(string Site, TimeZoneInfo Zone, string Program, long LastSequence, Instant? LastAt, string? Records = null);

internal sealed record Fact(string Label, Cell Value);

internal sealed record Section(string Title, IReadOnlyList<Block> Blocks);

internal abstract record Block;

internal enum ParagraphKind
{
    Plain = 0,
    Note = 1,
    Caution = 2,
}

internal sealed record Paragraph(string Text, ParagraphKind Kind = ParagraphKind.Plain) : Block;

internal sealed record Bullets(string Title, IReadOnlyList<string> Items) : Block;

internal sealed record SubHeading(string Text) : Block;

/// <param name="Id">Names the table for programs, such as <c>requirements</c>: lower-case letters and hyphens, unique in the report.</param>
/// <param name="Columns">Headings; the first column names the row.</param>
internal sealed record Table(string Id, IReadOnlyList<string> Columns, IReadOnlyList<IReadOnlyList<Cell>> Rows) : Block
{
    /// <summary>Said instead where there are no rows.</summary>
    public string Empty { get; init; } = "None.";
}

/// <param name="Title">What it shows, in words that stand for it where it cannot be seen.</param>
internal sealed record Picture(string Title, Drawing Drawing) : Block;
