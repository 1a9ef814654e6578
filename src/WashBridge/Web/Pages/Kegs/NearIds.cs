namespace WashBridge.Web.Pages.Kegs;

/// <summary>Ids that somebody can have meant: a letter wrong, missing, too many or swapped, other case, or a part of the whole.</summary>
internal static class NearIds
{
    public const int Most = 8;
    private const int MostEdits = 2;

    public static IReadOnlyList<string> Of(string typed, IEnumerable<string> known)
    {
        var plain = Plain(typed);
        return [.. known
            .Select(id => (Id: id, Far: Distance(plain, Plain(id))))
            .Where(c => c.Far <= MostEdits + 1)
            .OrderBy(c => c.Far).ThenBy(c => Math.Abs(c.Id.Length - typed.Length)).ThenBy(c => c.Id, StringComparer.Ordinal)
            .Take(Most).Select(c => c.Id)];
    }

    private static string Plain(string id) => new([.. id.Where(c => !char.IsWhiteSpace(c) && c is not ('-' or '_' or '.' or '/')).Select(char.ToUpperInvariant)]);

    /// <summary>Edits between two ids (insertion, deletion, exchange, swap of neighbours); one more than allowed where one is a part of the other, far beyond where they are too far apart.</summary>
    private static int Distance(string a, string b)
    {
        if (a.Length >= 3 && (b.Contains(a, StringComparison.Ordinal) || (b.Length >= 3 && a.Contains(b, StringComparison.Ordinal))) && Math.Abs(a.Length - b.Length) > MostEdits)
        {
            return MostEdits + 1;
        }

        return Math.Abs(a.Length - b.Length) > MostEdits || a.Length == 0 ? int.MaxValue : Edits(a, b) is var edits && edits <= Math.Min(MostEdits, a.Length / 2) ? edits : int.MaxValue;
    }

    private static int Edits(string a, string b)
    {
        var (before, last, now) = (new int[b.Length + 1], new int[b.Length + 1], new int[b.Length + 1]);
        for (var j = 0; j <= b.Length; j++)
        {
            last[j] = j;
        }

        for (var i = 1; i <= a.Length; i++)
        {
            now[0] = i;
            for (var j = 1; j <= b.Length; j++)
            {
                now[j] = Math.Min(Math.Min(now[j - 1], last[j]) + 1, last[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1));
                if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                {
                    now[j] = Math.Min(now[j], before[j - 2] + 1);
                }
            }

            (before, last, now) = (last, now, before);
        }

        return last[b.Length];
    }
}
