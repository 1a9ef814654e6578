using System.CommandLine;
using System.Text;
using WashBridge.Configuration.Binding;
using WashBridge.Importing;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Commands;

/// <summary><c>import-tags</c>: a tag map from the list that a controller's engineer exported.</summary>
internal static class ImportTagsCommand
{
    private const int MaxBytes = 16 * 1024 * 1024;

    public static Command Create()
    {
        var list = new Argument<string>("list") { Description = "The list: a text file with a heading and one tag a row; comma, semicolon, tab or bar between cells." };
        var output = new Option<string?>("--output", "-o") { Description = "The tag map to write; it must not exist. Left out: printed.", HelpName = "file" };
        var addressBase = new Option<int>("--address-base") { Description = "What plain addresses of the list count from: 0 or 1. A guess would read the neighbour, so it must be said.", Required = true, HelpName = "0|1" };
        addressBase.AcceptOnlyFromAmong("0", "1");
        var table = new Option<string?>("--table") { Description = "The table of addresses that do not tell theirs.", HelpName = "table" };
        table.AcceptOnlyFromAmong([.. Names.Of<ModbusTable>()]);
        var columns = new Option<string[]>("--column") { Description = $"Which heading is which column, such as address=Adr. Columns: {string.Join(", ", Enum.GetValues<ListColumn>().Select(TagList.Key))}.", HelpName = "column=heading" };
        var command = new Command("import-tags", """
            Turns a tag list into a tag map. Guesses signal, type and unit, says above each tag what it guessed, and leaves open what it cannot tell; no row is lost.

            Example: washbridge import-tags washer-tags.csv --address-base 1 --table holding-registers --output config/tag-maps/line-1.yaml
            Exit codes: 0 done, even if rows are left open; 1 the command line or the list is wrong.
            """)
        {
            list, output, addressBase, table, columns,
        };
        command.SetAction(parsed =>
        {
            var named = new Dictionary<ListColumn, string>();
            var writer = parsed.InvocationConfiguration.Output;
            return ReadColumns(parsed.GetValue(columns) ?? [], named, writer)
                ? Run(parsed.GetValue(list)!, parsed.GetValue(output), parsed.GetValue(addressBase), parsed.GetValue(table) is { } name ? Names.Parse<ModbusTable>(name) : null, named, writer)
                : ExitCodes.ConfigurationErrors;
        });
        return command;
    }

    private static bool ReadColumns(string[] texts, Dictionary<ListColumn, string> named, TextWriter writer)
    {
        foreach (var text in texts)
        {
            var parts = text.Split('=', 2);
            if (parts.Length != 2 || Names.Parse<ListColumn>(parts[0]) is not { } column || !named.TryAdd(column, parts[1].Trim()))
            {
                writer.WriteLine($"--column: found {text}; allowed: each once, {string.Join(", ", Enum.GetValues<ListColumn>().Select(c => TagList.Key(c) + "=HEADING"))}");
                return false;
            }
        }

        return true;
    }

    private static int Run(string path, string? output, int addressBase, ModbusTable? table, Dictionary<ListColumn, string> named, TextWriter writer)
    {
        try
        {
            var list = TagList.Read(ReadText(path), named);
            foreach (var problem in list.Problems)
            {
                writer.WriteLine($"{(output is null ? "# " : "")}{path}:{problem.Line}: {problem.Message}");
            }

            if (list.Rows.Count == 0)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var map = TagMapDraft.Of(list, Path.GetFileName(path), addressBase, table);
            if (output is null)
            {
                writer.Write(map.Text);
                return ExitCodes.Success;
            }

            using (var file = new StreamWriter(new FileStream(output, FileMode.CreateNew)))
            {
                file.Write(map.Text);
            }

            writer.WriteLine($"{list.Rows.Count} rows: {map.Mapped} mapped, {map.Open} left open in {output}.");
            return ExitCodes.Success;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or NotSupportedException)
        {
            writer.WriteLine($"{path}: {e.Message}");
            return ExitCodes.ConfigurationErrors;
        }
    }

    /// <summary>UTF-8, or else Latin-1 as older tools write it: every file has a reading.</summary>
    private static string ReadText(string path)
    {
        if (new FileInfo(path) is { Exists: true, Length: > MaxBytes } large)
        {
            throw new IOException($"the list is too large; found {large.Length} bytes; allowed: {MaxBytes}");
        }

        var bytes = File.ReadAllBytes(path);
        try
        {
            return new UTF8Encoding(false, true).GetString(bytes).TrimStart('\uFEFF');
        }
        catch (DecoderFallbackException)
        {
            return Encoding.Latin1.GetString(bytes);
        }
    }
}
