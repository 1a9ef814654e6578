using WashBridge.Historian.Storage;

namespace WashBridge.Historian.Reading;

/// <summary>Answers about many kegs at once from the index by keg, without reading what the events say.</summary>
internal sealed class KegReader(ReadPool pool)
{
    private const int PageKegs = 500;
    private const int PageIds = 20_000;

    public IReadOnlyDictionary<string, IReadOnlyList<KegMark>> ReadMarks(IReadOnlyCollection<string> kegIds)
    {
        var found = new Dictionary<string, IReadOnlyList<KegMark>>(StringComparer.Ordinal);
        foreach (var page in kegIds.Distinct(StringComparer.Ordinal).Chunk(PageKegs))
        {
            pool.Read(database =>
            {
                foreach (var id in page)
                {
                    found[id] = Marks(database, id);
                }

                return page.Length;
            });
        }

        return found;
    }

    /// <summary>Every id in order, a page in each snapshot.</summary>
    public IReadOnlyList<string> ReadIds()
    {
        var ids = new List<string>();
        int before;
        do
        {
            before = ids.Count;
            pool.Read(database =>
            {
                var rows = database.Prepare("SELECT DISTINCT keg FROM kegs WHERE keg > ? ORDER BY keg LIMIT ?").Bind(1, ids.Count > 0 ? ids[^1] : "").Bind(2, PageIds);
                while (rows.Step())
                {
                    ids.Add(rows.Text(0));
                }

                return ids.Count;
            });
        }
        while (ids.Count - before == PageIds);
        return ids;
    }

    private static List<KegMark> Marks(Database database, string id)
    {
        var marks = new List<KegMark>();
        var rows = database.Prepare("SELECT seq, kind, cycle FROM kegs k JOIN events ON seq = k.event WHERE k.keg = ? ORDER BY k.event").Bind(1, id);
        while (rows.Step())
        {
            marks.Add(new KegMark(rows.Long(0), rows.Text(1), rows.IsNull(2) ? null : rows.Text(2)));
        }

        return marks;
    }
}
