using System.Globalization;
using Microsoft.Extensions.Localization;
using WashBridge.Configuration;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Web.Charts;

/// <summary>Pictures of signals as charts, in words that people read.</summary>
internal sealed class SignalCharts(IHistorian historian, Site site, IStringLocalizer<SignalCharts> texts)
{
    /// <summary>More lines nobody can tell apart.</summary>
    public const int MostSignals = 8;

    public SignalPicture Read(Signal signal, Instant from, Instant until) => SignalSeries.Read(historian, signal, from, until, SignalWatch.Of(historian, site, signal, from, until));

    public ChartData Chart(IReadOnlyList<SignalPicture> pictures, Instant from, Instant until, IReadOnlyList<ChartSpan>? spans = null) => new()
    {
        From = ChartData.Milliseconds(from),
        Until = ChartData.Milliseconds(until),
        Series = [.. pictures.Select(Series)],
        Spans = [.. spans ?? [], .. pictures.SelectMany(p => Spans(p, pictures.Count > 1)).Distinct()],
        HasMore = pictures.Any(p => p.Detail != SignalDetail.Samples),
    };

    /// <summary>What the picture shows, in a sentence or two.</summary>
    public string Summary(SignalPicture picture, SiteZone zone)
    {
        if (picture.Last is not { Value: { } value } last)
        {
            return texts["nothing"];
        }

        var unit = SignalNames.Unit(picture.Signal);
        var what = picture.Signal.Type == SignalType.Flag
            ? texts["summary.flag", texts[value > 0 ? "on" : "off"], zone.Full(last.At)]
            : texts["summary", Number(picture.Lowest!.Value, unit), Number(picture.Highest!.Value, unit), Number(value, unit), zone.Full(last.At)];
        var detail = picture.Detail switch
        {
            SignalDetail.Samples => texts["detail.samples", picture.Samples.ToString("N0", CultureInfo.InvariantCulture)],
            SignalDetail.Parts => texts["detail.parts", picture.Samples.ToString("N0", CultureInfo.InvariantCulture), Span(picture.PartSpan)],
            _ => texts["detail.hours", picture.Samples.ToString("N0", CultureInfo.InvariantCulture), Span(picture.PartSpan)],
        };
        return string.Join(' ', new[] { (string)what, (string)detail, Missing(picture, StretchKind.Gap, "gaps"), Missing(picture, StretchKind.Uncertain, "uncertain"), Missing(picture, StretchKind.Bad, "bad") }.Where(t => t.Length > 0));
    }

    public static string Number(double value, string unit) => value.ToString("0.###", CultureInfo.InvariantCulture) + (unit.Length > 0 ? " " + unit : "");

    public string Span(TimeSpan span) => span switch
    {
        { TotalSeconds: < 120 } => texts["seconds", span.TotalSeconds.ToString("0.#", CultureInfo.InvariantCulture)],
        { TotalMinutes: < 120 } => texts["minutes", span.TotalMinutes.ToString("0.#", CultureInfo.InvariantCulture)],
        { TotalHours: < 48 } => texts["hours", span.TotalHours.ToString("0.#", CultureInfo.InvariantCulture)],
        _ => texts["days", span.TotalDays.ToString("0.#", CultureInfo.InvariantCulture)],
    };

    private string Missing(SignalPicture picture, StretchKind kind, string key)
    {
        var stretches = picture.Stretches.Where(s => s.Kind == kind).ToList();
        return stretches.Count == 0 ? "" : texts[key, stretches.Count, Span(TimeSpan.FromTicks(stretches.Sum(s => (s.Until - s.From).Ticks)))];
    }

    private static ChartSeries Series(SignalPicture picture)
    {
        var isBand = picture.Detail != SignalDetail.Samples;
        return new ChartSeries
        {
            Name = SignalNames.Of(picture.Signal),
            Unit = SignalNames.Unit(picture.Signal),
            IsFlag = picture.Signal.Type == SignalType.Flag,
            Panel = picture.Signal.Type switch
            {
                SignalType.Flag => "flag " + SignalNames.Of(picture.Signal),
                SignalType.Integer => "number " + SignalNames.Of(picture.Signal),
                _ => null,
            },
            At = [.. picture.Points.Select(p => ChartData.Milliseconds(p.At))],
            Value = [.. picture.Points.Select(p => p.Value)],
            Low = isBand ? [.. picture.Points.Select(p => p.Low)] : null,
            High = isBand ? [.. picture.Points.Select(p => p.High)] : null,
        };
    }

    private IEnumerable<ChartSpan> Spans(SignalPicture picture, bool isOneOfMany) => picture.Stretches.Select(s => new ChartSpan(
        ChartData.Milliseconds(s.From),
        ChartData.Milliseconds(s.Until),
        texts[s.Kind switch { StretchKind.Gap => "gap.label", StretchKind.Uncertain => "uncertain.label", _ => "bad.label" }],
        s.Kind switch { StretchKind.Gap => "gap", StretchKind.Uncertain => "uncertain", _ => "bad" },
        isOneOfMany ? SignalNames.Of(picture.Signal) : null));
}
