using WashBridge.Core.Alarms;
using WashBridge.Core.Cycles;
using WashBridge.Core.Time;
using WashBridge.Historian;

namespace WashBridge.Web.Pages.Alarms;

/// <summary>The whole life of one alarm, the latest first.</summary>
/// <param name="Chapters">At most <see cref="Most"/>.</param>
/// <param name="LeftOut">Older ones that are not shown.</param>
/// <param name="Now">How it stands; null: there was never such an alarm.</param>
internal sealed record AlarmStory(IReadOnlyList<Chapter> Chapters, int LeftOut, AlarmChanged? Now)
{
    public const int Most = 300;

    private static readonly string[] Kinds = ["alarm-changed", "alarm-ordered", "alarm-order-refused"];

    public static AlarmStory Read(IHistorianReader historian, string washer, string alarm) =>
        Of(historian.ReadEvents(new EventQuery { Washer = washer, Kinds = Kinds }).Where(e => KeyOf(e) == alarm));

    /// <param name="events">Of one alarm, in the order of the log.</param>
    internal static AlarmStory Of(IEnumerable<WashEvent> events)
    {
        var all = events.ToList();
        var followed = all.Where(e => e is not AlarmOrdered).Select(e => e.Id).ToList();
        var chapters = new List<Chapter>();
        foreach (var each in all)
        {
            switch (each)
            {
                case AlarmChanged changed:
                    chapters.Add(new Chapter(changed.At.Latest, ChapterKind.Changed, changed.By, changed.Reason) { Change = changed, Until = changed.Until });
                    break;
                case AlarmOrderRefused refused:
                    chapters.Add(new Chapter(refused.At.Latest, ChapterKind.Refused, refused.Order.By, refused.Order.Reason) { Order = refused.Order.Kind, Problem = refused.Problem });
                    break;
                case AlarmOrdered ordered when !followed.Exists(id => id.StartsWith(ordered.Id + "/", StringComparison.Ordinal)):
                    chapters.Add(new Chapter(ordered.At.Latest, ChapterKind.Waiting, ordered.Order.By, ordered.Order.Reason) { Order = ordered.Order.Kind, Until = ordered.Order.Until });
                    break;
                default:
                    break;
            }
        }

        chapters.Reverse();
        return new AlarmStory([.. chapters.Take(Most)], Math.Max(0, chapters.Count - Most), all.OfType<AlarmChanged>().LastOrDefault());
    }

    private static string? KeyOf(WashEvent each) => each switch
    {
        AlarmChanged changed => changed.Alarm,
        AlarmOrdered ordered => ordered.Order.Alarm,
        AlarmOrderRefused refused => refused.Order.Alarm,
        _ => null,
    };
}

internal enum ChapterKind
{
    Changed = 0,

    /// <summary>An order that did not fit the alarm any more when the analysis came to it.</summary>
    Refused = 1,

    /// <summary>An order that the analysis has not come to yet.</summary>
    Waiting = 2,
}

/// <summary>One turn in the life of an alarm.</summary>
/// <param name="By">Null: it came of itself.</param>
internal sealed record Chapter(Instant At, ChapterKind Kind, string? By, string? Reason)
{
    public AlarmChanged? Change { get; init; }

    public AlarmOrderKind? Order { get; init; }

    public string? Problem { get; init; }

    public Instant? Until { get; init; }
}
