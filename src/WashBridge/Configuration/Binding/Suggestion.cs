namespace WashBridge.Configuration.Binding;

/// <summary>Finds what a person may have meant by a misspelt name.</summary>
internal static class Suggestion
{
    /// <summary>" (did you mean X?)", or empty when nothing is near.</summary>
    public static string For(string found, IEnumerable<string> known)
    {
        var (name, distance) = known.Select(k => (k, Distance(found, k))).OrderBy(p => p.Item2).FirstOrDefault((found, int.MaxValue));
        return distance <= Math.Max(2, found.Length / 3) && distance < found.Length ? $" (did you mean {name}?)" : "";
    }

    /// <summary>Edits, where two neighbours swapped count as one.</summary>
    public static int Distance(string a, string b)
    {
        var rows = new int[a.Length + 1, b.Length + 1];
        for (var i = 0; i <= a.Length; i++)
        {
            rows[i, 0] = i;
        }

        for (var j = 0; j <= b.Length; j++)
        {
            rows[0, j] = j;
        }

        for (var i = 1; i <= a.Length; i++)
        {
            for (var j = 1; j <= b.Length; j++)
            {
                var change = rows[i - 1, j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
                rows[i, j] = Math.Min(change, Math.Min(rows[i - 1, j], rows[i, j - 1]) + 1);
                if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                {
                    rows[i, j] = Math.Min(rows[i, j], rows[i - 2, j - 2] + 1);
                }
            }
        }

        return rows[a.Length, b.Length];
    }
}
