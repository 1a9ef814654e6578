namespace WashBridge.Core.Sampling;

/// <summary>
/// The master tables of single sampling by attributes: MIL-STD-105E (10 May 1989, approved for public release, distribution unlimited), Table I and Tables II-A to II-C, for the
/// AQLs that may be read as per cent nonconforming (up to 10). ISO 2859-1 has the same normal and tightened plans. SAMPLING.md says what each was compared with.
/// </summary>
internal static class AttributeTables
{
    public const string Below = "v";
    public const string Above = "^";

    /// <summary>In per cent nonconforming; the columns of the tables.</summary>
    public static readonly IReadOnlyList<double> Aqls = [0.01, 0.015, 0.025, 0.04, 0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1, 1.5, 2.5, 4, 6.5, 10];

    /// <summary>Table I, general inspection levels: the largest lot of each row, and its code letters of the levels I, II and III.</summary>
    public static readonly IReadOnlyList<(int LargestLot, string Letters)> CodeLetters =
    [
        (8, "AAB"), (15, "ABC"), (25, "BCD"), (50, "CDE"), (90, "CEF"), (150, "DFG"), (280, "EGH"), (500, "FHJ"),
        (1_200, "GJK"), (3_200, "HKL"), (10_000, "JLM"), (35_000, "KMN"), (150_000, "LNP"), (500_000, "MPQ"), (int.MaxValue, "NQR"),
    ];

    /// <summary>Table II-A. Code letter, sample size, then Ac/Re for each AQL; v: the first plan below counts, ^: the first above.</summary>
    public static readonly IReadOnlyList<TableRow> Normal = Read("""
        A     2      v     v     v     v     v     v     v     v     v     v     v     v     v     v   0/1     v
        B     3      v     v     v     v     v     v     v     v     v     v     v     v     v   0/1     ^     v
        C     5      v     v     v     v     v     v     v     v     v     v     v     v   0/1     ^     v   1/2
        D     8      v     v     v     v     v     v     v     v     v     v     v   0/1     ^     v   1/2   2/3
        E    13      v     v     v     v     v     v     v     v     v     v   0/1     ^     v   1/2   2/3   3/4
        F    20      v     v     v     v     v     v     v     v     v   0/1     ^     v   1/2   2/3   3/4   5/6
        G    32      v     v     v     v     v     v     v     v   0/1     ^     v   1/2   2/3   3/4   5/6   7/8
        H    50      v     v     v     v     v     v     v   0/1     ^     v   1/2   2/3   3/4   5/6   7/8 10/11
        J    80      v     v     v     v     v     v   0/1     ^     v   1/2   2/3   3/4   5/6   7/8 10/11 14/15
        K   125      v     v     v     v     v   0/1     ^     v   1/2   2/3   3/4   5/6   7/8 10/11 14/15 21/22
        L   200      v     v     v     v   0/1     ^     v   1/2   2/3   3/4   5/6   7/8 10/11 14/15 21/22     ^
        M   315      v     v     v   0/1     ^     v   1/2   2/3   3/4   5/6   7/8 10/11 14/15 21/22     ^     ^
        N   500      v     v   0/1     ^     v   1/2   2/3   3/4   5/6   7/8 10/11 14/15 21/22     ^     ^     ^
        P   800      v   0/1     ^     v   1/2   2/3   3/4   5/6   7/8 10/11 14/15 21/22     ^     ^     ^     ^
        Q  1250    0/1     ^     v   1/2   2/3   3/4   5/6   7/8 10/11 14/15 21/22     ^     ^     ^     ^     ^
        R  2000      ^     ^   1/2   2/3   3/4   5/6   7/8 10/11 14/15 21/22     ^     ^     ^     ^     ^     ^
        """);

    /// <summary>Table II-B.</summary>
    public static readonly IReadOnlyList<TableRow> Tightened = Read("""
        A     2      v     v     v     v     v     v     v     v     v     v     v     v     v     v     v     v
        B     3      v     v     v     v     v     v     v     v     v     v     v     v     v     v   0/1     v
        C     5      v     v     v     v     v     v     v     v     v     v     v     v     v   0/1     v     v
        D     8      v     v     v     v     v     v     v     v     v     v     v     v   0/1     v     v   1/2
        E    13      v     v     v     v     v     v     v     v     v     v     v   0/1     v     v   1/2   2/3
        F    20      v     v     v     v     v     v     v     v     v     v   0/1     v     v   1/2   2/3   3/4
        G    32      v     v     v     v     v     v     v     v     v   0/1     v     v   1/2   2/3   3/4   5/6
        H    50      v     v     v     v     v     v     v     v   0/1     v     v   1/2   2/3   3/4   5/6   8/9
        J    80      v     v     v     v     v     v     v   0/1     v     v   1/2   2/3   3/4   5/6   8/9 12/13
        K   125      v     v     v     v     v     v   0/1     v     v   1/2   2/3   3/4   5/6   8/9 12/13 18/19
        L   200      v     v     v     v     v   0/1     v     v   1/2   2/3   3/4   5/6   8/9 12/13 18/19     ^
        M   315      v     v     v     v   0/1     v     v   1/2   2/3   3/4   5/6   8/9 12/13 18/19     ^     ^
        N   500      v     v     v   0/1     v     v   1/2   2/3   3/4   5/6   8/9 12/13 18/19     ^     ^     ^
        P   800      v     v   0/1     v     v   1/2   2/3   3/4   5/6   8/9 12/13 18/19     ^     ^     ^     ^
        Q  1250      v   0/1     v     v   1/2   2/3   3/4   5/6   8/9 12/13 18/19     ^     ^     ^     ^     ^
        R  2000    0/1     ^     v   1/2   2/3   3/4   5/6   8/9 12/13 18/19     ^     ^     ^     ^     ^     ^
        S  3150      ^     ^   1/2     ^     ^     ^     ^     ^     ^     ^     ^     ^     ^     ^     ^     ^
        """);

    /// <summary>Table II-C. Between Ac and Re the lot is accepted, and normal inspection begins anew. Value from memory: see SAMPLING.md.</summary>
    public static readonly IReadOnlyList<TableRow> Reduced = Read("""
        A     2      v     v     v     v     v     v     v     v     v     v     v     v     v     v   0/1     v
        B     2      v     v     v     v     v     v     v     v     v     v     v     v     v   0/1     ^     v
        C     2      v     v     v     v     v     v     v     v     v     v     v     v   0/1     ^     v   0/2
        D     3      v     v     v     v     v     v     v     v     v     v     v   0/1     ^     v   0/2   1/3
        E     5      v     v     v     v     v     v     v     v     v     v   0/1     ^     v   0/2   1/3   1/4
        F     8      v     v     v     v     v     v     v     v     v   0/1     ^     v   0/2   1/3   1/4   2/5
        G    13      v     v     v     v     v     v     v     v   0/1     ^     v   0/2   1/3   1/4   2/5   3/6
        H    20      v     v     v     v     v     v     v   0/1     ^     v   0/2   1/3   1/4   2/5   3/6   5/8
        J    32      v     v     v     v     v     v   0/1     ^     v   0/2   1/3   1/4   2/5   3/6   5/8  7/10
        K    50      v     v     v     v     v   0/1     ^     v   0/2   1/3   1/4   2/5   3/6   5/8  7/10 10/13
        L    80      v     v     v     v   0/1     ^     v   0/2   1/3   1/4   2/5   3/6   5/8  7/10 10/13     ^
        M   125      v     v     v   0/1     ^     v   0/2   1/3   1/4   2/5   3/6   5/8  7/10 10/13     ^     ^
        N   200      v     v   0/1     ^     v   0/2   1/3   1/4   2/5   3/6   5/8  7/10 10/13     ^     ^     ^
        P   315      v   0/1     ^     v   0/2   1/3   1/4   2/5   3/6   5/8  7/10 10/13     ^     ^     ^     ^
        Q   500    0/1     ^     v   0/2   1/3   1/4   2/5   3/6   5/8  7/10 10/13     ^     ^     ^     ^     ^
        R   800      ^     ^   0/2   1/3   1/4   2/5   3/6   5/8  7/10 10/13     ^     ^     ^     ^     ^     ^
        """);

    private static TableRow[] Read(string table) => [.. table.Split('\n', StringSplitOptions.RemoveEmptyEntries).Select(TableRow.Read)];
}

/// <summary>A row of a master table.</summary>
/// <param name="Cells">Ac/Re or an arrow, by the columns of <see cref="AttributeTables.Aqls"/>.</param>
internal sealed record TableRow(char Letter, int SampleSize, IReadOnlyList<string> Cells)
{
    public static TableRow Read(string line)
    {
        var words = line.Split(' ', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
        return new TableRow(words[0][0], int.Parse(words[1], System.Globalization.CultureInfo.InvariantCulture), words[2..]);
    }
}
