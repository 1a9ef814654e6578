namespace WashBridge.Historian.Reading;

/// <summary>A stretch of the log from one snapshot.</summary>
internal static class LogPage
{
    /// <summary>Merges the cursors into <paramref name="entries"/>. Returns where to go on with the next snapshot, or null at the end.</summary>
    public static long? Merge(List<LogCursor> cursors, List<LogEntry> entries, int atMost)
    {
        cursors.RemoveAll(c => !c.MoveNext());
        while (cursors.Count > 0)
        {
            var next = cursors[0];
            for (var i = 1; i < cursors.Count; i++)
            {
                // At the same number an entry comes before a pause that has looked at it.
                if (cursors[i].Sequence < next.Sequence || (cursors[i].Sequence == next.Sequence && next.IsPause))
                {
                    next = cursors[i];
                }
            }

            if (next.IsPause)
            {
                return next.Sequence;
            }

            entries.Add(next.Current);
            if (entries.Count == atMost)
            {
                return null;
            }

            if (!next.MoveNext())
            {
                cursors.Remove(next);
            }
        }

        return null;
    }
}
