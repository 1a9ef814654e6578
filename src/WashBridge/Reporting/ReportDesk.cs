using WashBridge.Configuration;
using WashBridge.Historian;
using WashBridge.Reporting.Documents;
using WashBridge.Reporting.Kinds;
using WashBridge.Reporting.Writing;

namespace WashBridge.Reporting;

/// <summary>Makes every report and writes it in every form: for the command, the pages and the HTTP interface alike.</summary>
internal static class ReportDesk
{
    private static readonly Dictionary<ReportKind, Func<ReportContext, Document>> Makers = new()
    {
        [ReportKind.Certificate] = CertificateReport.Make,
        [ReportKind.Lot] = LotReport.Make,
        [ReportKind.Shift] = PeriodReport.Shift,
        [ReportKind.Month] = PeriodReport.Month,
        [ReportKind.Deviation] = DeviationReport.Make,
        [ReportKind.Outlook] = OutlookReport.Make,
    };

    /// <summary>The reports that there are.</summary>
    public static IReadOnlyCollection<ReportKind> Kinds => Makers.Keys;

    /// <param name="wish">What is wanted.</param>
    /// <param name="historian">Read only.</param>
    /// <param name="site">Titles, recipes and shifts; null: limits are told as the verdicts have them, and shifts are not known.</param>
    /// <exception cref="ReportWishException">The wish cannot be fulfilled: the message says what was found and what is allowed.</exception>
    public static Document Make(ReportWish wish, IHistorianReader historian, Site? site, CancellationToken cancellation = default)
    {
        var context = new ReportContext(wish, historian, site, cancellation);
        context.CheckWasher();
        return Makers[wish.Kind](context);
    }

    /// <summary>Writes a report; the stream stays open.</summary>
    public static async Task WriteAsync(Document document, ReportFormat format, Stream target, CancellationToken cancellation = default)
    {
        switch (format)
        {
            case ReportFormat.Html:
                await WriteTextAsync(target, output => HtmlWriter.Write(document, output));
                break;
            case ReportFormat.Pdf:
                await target.WriteAsync(PdfWriter.Write(document, cancellation), cancellation);
                break;
            case ReportFormat.Csv:
                await WriteTextAsync(target, output => FigureCsv.Write(document, output));
                break;
            case ReportFormat.Parquet:
                await FigureParquet.WriteAsync(document, target, cancellation);
                break;
            case ReportFormat.Json:
                await WriteTextAsync(target, output => DocumentJson.Write(document, output));
                break;
            default:
                await WriteTextAsync(target, output => PlainWriter.Write(document, output));
                break;
        }
    }

    /// <summary>As HTTP names it.</summary>
    public static string MediaType(ReportFormat format) => format switch
    {
        ReportFormat.Html => "text/html; charset=utf-8",
        ReportFormat.Pdf => "application/pdf",
        ReportFormat.Csv => "text/csv; charset=utf-8",
        ReportFormat.Parquet => "application/vnd.apache.parquet",
        ReportFormat.Json => "application/json; charset=utf-8",
        _ => "text/plain; charset=utf-8",
    };

    /// <summary>A name for the file: letters, digits and hyphens only, whatever the keg is called.</summary>
    public static string FileName(Document document, ReportFormat format)
    {
        var name = new string([.. document.Title.ToLowerInvariant().Select(c => char.IsAsciiLetterOrDigit(c) ? c : '-')]);
        while (name.Contains("--", StringComparison.Ordinal))
        {
            name = name.Replace("--", "-", StringComparison.Ordinal);
        }

        return $"{(name.Length > 60 ? name[..60] : name).Trim('-')}.{(format == ReportFormat.Table ? "txt" : format.ToString().ToLowerInvariant())}";
    }

    private static async Task WriteTextAsync(Stream target, Action<TextWriter> write)
    {
        await using var output = new StreamWriter(target, leaveOpen: true) { NewLine = "\n" };
        write(output);
    }
}
