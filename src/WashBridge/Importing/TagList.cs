namespace WashBridge.Importing;

/// <summary>What a column of a tag list can hold.</summary>
internal enum ListColumn
{
    Name = 0,
    Table = 1,
    Address = 2,
    Type = 3,
    Description = 4,
    Unit = 5,
    Scale = 6,
}

/// <summary>A row of a tag list.</summary>
internal sealed record ListRow(Record Record, IReadOnlyDictionary<ListColumn, string> Values)
{
    public string this[ListColumn column] => Values.GetValueOrDefault(column, "");
}

/// <summary>A tag list with its columns recognised.</summary>
/// <param name="Rows">Every row below the heading, none left out.</param>
/// <param name="Headings">Which heading was taken for which column.</param>
/// <param name="Problems">What was not as it should be, by line.</param>
internal sealed record TagList(IReadOnlyList<ListRow> Rows, IReadOnlyDictionary<ListColumn, string> Headings, IReadOnlyList<ListProblem> Problems)
{
    private static readonly Dictionary<ListColumn, string[]> Usual = new()
    {
        [ListColumn.Name] = ["name", "tag", "tagname", "symbol", "variable", "signal"],
        [ListColumn.Table] = ["table", "area", "memory", "registertype"],
        [ListColumn.Address] = ["address", "addr", "adr", "register", "modbusaddress", "registeraddress"],
        [ListColumn.Type] = ["type", "datatype", "format"],
        [ListColumn.Description] = ["description", "comment", "text", "meaning", "remark"],
        [ListColumn.Unit] = ["unit", "units", "eu", "engineeringunit", "dimension"],
        [ListColumn.Scale] = ["scale", "factor", "multiplier", "scaling", "resolution"],
    };

    /// <param name="text">The whole file.</param>
    /// <param name="named">Headings that a person named, which come before the usual ones.</param>
    /// <returns>Null rows are never made: a list that cannot be used has problems and no rows.</returns>
    public static TagList Read(string text, IReadOnlyDictionary<ListColumn, string> named)
    {
        var (records, readProblems) = DelimitedText.Read(text, DelimitedText.Detect(text));
        var problems = readProblems.ToList();
        if (records.Count == 0)
        {
            return new TagList([], named, [new ListProblem(1, "the list is empty")]);
        }

        var heading = records[0];
        var columns = Columns(heading, named, problems);
        foreach (var needed in new[] { ListColumn.Name, ListColumn.Address }.Where(c => !columns.ContainsKey(c)))
        {
            problems.Add(new ListProblem(heading.Line, $"no column was recognised as {Key(needed)}; found: {string.Join(", ", heading.Cells)}; name it with --column {Key(needed)}=HEADING"));
        }

        if (problems.Count > readProblems.Count)
        {
            return new TagList([], named, problems);
        }

        var rows = records.Skip(1).Select(r => new ListRow(r, columns.ToDictionary(c => c.Key, c => c.Value < r.Cells.Count ? r.Cells[c.Value] : ""))).ToList();
        problems.AddRange(rows.Where(r => r.Record.Cells.Count != heading.Cells.Count).Select(r =>
            new ListProblem(r.Record.Line, $"the row has {r.Record.Cells.Count} cells, the heading {heading.Cells.Count}; missing cells are taken as empty")));
        return new TagList(rows, columns.ToDictionary(c => c.Key, c => heading.Cells[c.Value]), problems);
    }

    public static string Key(ListColumn column) => column.ToString().ToLowerInvariant();

    private static Dictionary<ListColumn, int> Columns(Record heading, IReadOnlyDictionary<ListColumn, string> named, List<ListProblem> problems)
    {
        var columns = new Dictionary<ListColumn, int>();
        foreach (var (column, name) in named)
        {
            var index = heading.Cells.ToList().FindIndex(c => string.Equals(c, name, StringComparison.OrdinalIgnoreCase));
            if (index < 0)
            {
                problems.Add(new ListProblem(heading.Line, $"there is no column \"{name}\"; found: {string.Join(", ", heading.Cells)}"));
            }
            else
            {
                columns[column] = index;
            }
        }

        foreach (var (column, usual) in Usual.Where(u => !columns.ContainsKey(u.Key) && !named.ContainsKey(u.Key)))
        {
            var index = heading.Cells.ToList().FindIndex(c => usual.Contains(Plain(c)));
            if (index >= 0 && !columns.ContainsValue(index))
            {
                columns[column] = index;
            }
        }

        return columns;
    }

    private static string Plain(string heading) => new([.. heading.Where(char.IsLetter).Select(char.ToLowerInvariant)]);
}
