using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian.Encoding;
using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Reads hourly summaries: stored ones of sealed data, made on the spot of the rest.</summary>
internal sealed class HourlyReader(ReadPool pool, NameTable names, SampleReader samples)
{
    public IReadOnlyList<HourlySummary> Read(Signal signal, Instant from, Instant until) => pool.Read(database =>
    {
        var sums = new HourlySums();
        var first = HourlySums.HourOf(from.UnixMicroseconds);
        var last = HourlySums.HourOf(until.UnixMicroseconds - 1);
        if (names.IdOf(database, signal) is { } id)
        {
            AddStored(database, id, first, last, sums);
            samples.AddHot(database, signal, first, last + HourlySums.HourMicroseconds - 1, sums);
        }

        return Within(sums, from, until);
    });

    /// <summary>The hours that overlap [from, until).</summary>
    public static List<HourlySummary> Within(HourlySums sums, Instant from, Instant until) =>
    [
        .. sums.Hours
            .Where(h => h.Key >= HourlySums.HourOf(from.UnixMicroseconds) && h.Key < until.UnixMicroseconds)
            .Select(h => new HourlySummary(new Instant(h.Key), h.Value.Count, h.Value.Minimum, h.Value.Maximum, h.Value.Sum / h.Value.Count, h.Value.Last)),
    ];

    private static void AddStored(Database database, int signal, long first, long last, HourlySums sums)
    {
        var rows = database.Prepare("SELECT hour, count, minimum, maximum, sum, last, last_at FROM hourly WHERE signal = ? AND hour >= ? AND hour <= ? ORDER BY hour, segment")
            .Bind(1, signal).Bind(2, first).Bind(3, last);
        while (rows.Step())
        {
            sums.Add(rows.Long(0), new HourSums
            {
                Count = rows.Int(1),
                Minimum = rows.Double(2),
                Maximum = rows.Double(3),
                Sum = rows.IsNull(4) ? double.NaN : rows.Double(4),
                Last = rows.Double(5),
                LastAt = rows.Long(6),
            });
        }
    }
}
