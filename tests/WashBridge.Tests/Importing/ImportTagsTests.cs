using System.CommandLine;
using CsCheck;
using WashBridge.Commands;
using WashBridge.Configuration;
using WashBridge.Configuration.Binding;
using WashBridge.Importing;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Tests.Importing;

public sealed class ImportTagsTests : IDisposable
{
    /// <summary>As a spreadsheet exports it: semicolons, decimal commas, quotes, a line break in a cell, a short row and a row of nonsense.</summary>
    private const string List = """"
        Symbol;Adr;Data Type;Comment;Unit;Factor
        SEQ_STEP;40001;INT;Step code of the sequence;;
        TT_101;30011;INT;Temperature caustic;°C;0,1
        TT_102;30012;INT;"Temp; sanitiser ""bath""";degF;0,1
        P_1;30013;INT;Keg pressure station 2;bar;0,001
        DRY_S1;10005;BOOL;Drain dry station 1;;
        V_CO2;40020.3;BOOL;CO2 valve;;
        XY_7;40030;INT;Nobody knows;;
        TT_101B;30014;INT;"Temperature
        caustic";°C;0,1
        OLD;MB17;INT;Conductivity acid;mS/cm;1
        CNT;40040;DINT;Cycle counter;;
        FLOW;30020
        TT_103;30021;INT;Temperature acid;furlong;1
        """";

    private readonly string folder = Directory.CreateTempSubdirectory("washbridge-import-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_list_becomes_a_map_that_says_what_it_guessed_and_what_is_open()
    {
        var (code, output) = await ImportAsync(List, "--address-base", "1", "--column", "name=Symbol", "--column", "address=Adr");
        Assert.Equal(ExitCodes.Success, code);
        Assert.Contains("12 rows: 6 mapped, 6 left open", output, StringComparison.Ordinal);
        Assert.Contains("list.csv:13: the row has 2 cells, the heading 6; missing cells are taken as empty", output, StringComparison.Ordinal);
        Assert.Equal(
            """
            # yaml-language-server: $schema=../schema/tag-map.schema.json
            # Made from list.csv. Columns: name = Symbol, address = Adr, type = Data Type, description = Comment, unit = Unit, scale = Factor.
            # Every guess is named above its tag: check each against the controller's documents.
            # Rows left open stand as comments: put a value for every question mark and take the # away.
            address-base: 1
            # word-order: high-first or low-first, once you know it; the Modbus specification defines none.
            tags:
              # Line 2: SEQ_STEP;40001;INT;Step code of the sequence;;
              #    signal: guessed from "sequence", "step"
              #    address: 40001 taken as the table in front of number 1, counted from 1
              - {signal: sequence.step, group: 0, table: holding-registers, address: 1, type: int16}
              # Line 3: TT_101;30011;INT;Temperature caustic;°C;0,1
              #    signal: guessed from "temperature", "caustic"
              #    address: 30011 taken as the table in front of number 11, counted from 1
              - {signal: temperature.caustic, group: 1, table: input-registers, address: 11, type: int16, scale: 0.1}
            """,
            string.Join('\n', (await File.ReadAllLinesAsync(MapFile)).Take(15)));
        Assert.Contains("offset: 1.01325}", await File.ReadAllTextAsync(MapFile), StringComparison.Ordinal);
        Assert.Contains("#    open: signal: no name of the catalogue fits", await File.ReadAllTextAsync(MapFile), StringComparison.Ordinal);
        Assert.Contains("#    open: no word order is given for a value of more than one register", await File.ReadAllTextAsync(MapFile), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_map_loads_as_it_is_and_when_everything_open_is_filled_in()
    {
        await ImportAsync(List, "--address-base", "1", "--column", "name=Symbol", "--column", "address=Adr");
        var text = await File.ReadAllTextAsync(MapFile);
        Assert.Equal(6, LoadMap(text).Count);

        var filled = text
            .Replace("# word-order: high-first or low-first, once you know it; the Modbus specification defines none.", "word-order: high-first", StringComparison.Ordinal)
            .Replace("  # - {", "  - {", StringComparison.Ordinal)
            .Replace("{signal: ?, group: 0, table: holding-registers, address: 30,", "{signal: other.unknown, unit: \"1\", group: 0, table: holding-registers, address: 30,", StringComparison.Ordinal)
            .Replace("{signal: temperature.caustic, group: 1, table: input-registers, address: 14,", "{signal: temperature.water, group: 1, table: input-registers, address: 14,", StringComparison.Ordinal)
            .Replace("table: ?, address: ?", "table: holding-registers, address: 17", StringComparison.Ordinal)
            .Replace("address: 20, type: ?", "address: 20, type: uint16", StringComparison.Ordinal);
        Assert.Equal(12, LoadMap(filled).Count);
    }

    [Fact]
    public async Task No_row_is_lost_and_the_map_always_loads() => await Gen.Select(
        Gen.OneOf(Gen.Const("TT 1"), Gen.String[Gen.Char[' ', '~'], 0, 8]),
        Gen.OneOf(Gen.Int[0, 70_000].Select(n => $"{n}"), Gen.Int[40_001, 40_020].Select(n => $"{n}"), Gen.Const("40003.5"), Gen.Const("")),
        Gen.OneOf(Gen.Const("INT"), Gen.Const("REAL"), Gen.Const("BOOL"), Gen.Const("STRING[10]"), Gen.Const("?")),
        Gen.OneOf(Gen.Const("caustic temperature"), Gen.Const("step"), Gen.Const("drain dry station 3"), Gen.Const("\"open quote"), Gen.Const("keg id station 1")))
        .Array[1, 12].SampleAsync(rows =>
        {
            var text = "Name;Address;Type;Description\n" + string.Join('\n', rows.Select(r => $"{r.Item1.Replace(';', ',').Replace('"', '\'')};{r.Item2};{r.Item3};{r.Item4}"));
            var list = TagList.Read(text, new Dictionary<ListColumn, string>());
            var map = TagMapDraft.Of(list, "list", 0, ModbusTable.HoldingRegisters);
            Assert.Equal(rows.Length, map.Mapped + map.Open);
            Assert.All(rows.Index(), r => Assert.Contains($"ine {r.Index + 2}: ", map.Text, StringComparison.Ordinal));
            Assert.Equal(map.Mapped, map.Mapped == 0 ? 0 : LoadMap(map.Text).Count);
            return Task.CompletedTask;
        }, iter: 300, threads: 1);

    [Theory]
    [InlineData("Name,Address\na,1\nb,2", ',')]
    [InlineData("Name;Address\n\"a;b\",x;1\nb;2", ';')]
    [InlineData("Name\tAddress\na,b\t1", '\t')]
    [InlineData("Name|Address|Type\na|1|INT", '|')]
    public void The_delimiter_is_found(string text, char expected) => Assert.Equal(expected, DelimitedText.Detect(text));

    [Fact]
    public void A_quote_that_is_never_closed_costs_no_row()
    {
        var (records, problems) = DelimitedText.Read("a;b\n\"c;d\ne;f", ';');
        Assert.Equal(["a", "b"], records[0].Cells);
        Assert.Equal(["'c", "d"], records[1].Cells);
        Assert.Equal(["e", "f"], records[2].Cells);
        Assert.Equal(2, Assert.Single(problems).Line);
    }

    [Fact]
    public void Two_open_quotes_in_neighbouring_rows_are_not_taken_for_one_cell()
    {
        var (records, problems) = DelimitedText.Read("a;\"b\nc;\"d\ne;\"f\ng\"", ';');
        Assert.Equal([["a", "'b"], ["c", "'d"], ["e", "f g"]], records.Select(r => r.Cells));
        Assert.Equal([1, 2], problems.Select(p => p.Line));
    }

    [Theory]
    [InlineData("", "109", 1, ModbusTable.HoldingRegisters, 108)]
    [InlineData("", "109", 0, ModbusTable.HoldingRegisters, 109)]
    [InlineData("", "40109", 0, ModbusTable.HoldingRegisters, 108)]
    [InlineData("", "300002", 0, ModbusTable.InputRegisters, 1)]
    [InlineData("", "00017", 0, ModbusTable.Coils, 16)]
    [InlineData("Discrete inputs", "5", 1, ModbusTable.DiscreteInputs, 4)]
    [InlineData("", "IR 7", 0, ModbusTable.InputRegisters, 7)]
    [InlineData("holding register", "10109", 0, ModbusTable.HoldingRegisters, 10_109)]
    public void An_address_is_read_the_way_it_is_written(string table, string address, int addressBase, ModbusTable expected, int protocol)
    {
        var guess = AddressCell.Read(table, address, addressBase, ModbusTable.HoldingRegisters);
        Assert.Equal(new ListAddress(expected, protocol, null), guess.Value);
    }

    [Theory]
    [InlineData("", "0", 1)]
    [InlineData("", "70000", 1)]
    [InlineData("", "12.16", 0)]
    [InlineData("", "10003.2", 0)]
    [InlineData("flags", "12", 0)]
    [InlineData("", "%MW12", 0)]
    [InlineData("", "", 0)]
    public void An_address_that_cannot_be_told_is_left_open(string table, string address, int addressBase) =>
        Assert.False(AddressCell.Read(table, address, addressBase, ModbusTable.HoldingRegisters).IsKnown);

    [Fact]
    public async Task A_list_without_an_address_column_is_refused_with_what_was_found()
    {
        var (code, output) = await ImportAsync("Tag,Where\na,1", "--address-base", "0");
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Contains("list.csv:1: no column was recognised as address; found: Tag, Where; name it with --column address=HEADING", output, StringComparison.Ordinal);
        Assert.False(File.Exists(MapFile));
    }

    [Fact]
    public async Task A_map_that_exists_is_never_written_over()
    {
        await File.WriteAllTextAsync(MapFile, "mine");
        var (code, _) = await ImportAsync(List, "--address-base", "1", "--column", "name=Symbol", "--column", "address=Adr");
        Assert.Equal(ExitCodes.ConfigurationErrors, code);
        Assert.Equal("mine", await File.ReadAllTextAsync(MapFile));
    }

    [Fact]
    public async Task Latin_1_is_read_too()
    {
        await File.WriteAllBytesAsync(Path.Combine(folder, "old.csv"), System.Text.Encoding.Latin1.GetBytes("Name;Address;Type;Comment;Unit\nT;40001;INT;temperature caustic;°C"));
        var writer = new StringWriter();
        await ImportTagsCommand.Create().Parse([Path.Combine(folder, "old.csv"), "--address-base", "0"]).InvokeAsync(new InvocationConfiguration { Output = writer });
        Assert.Contains("- {signal: temperature.caustic, group: 1, table: holding-registers, address: 0, type: int16}", writer.ToString(), StringComparison.Ordinal);
    }

    private string MapFile => Path.Combine(folder, "map.yaml");

    private async Task<(int Code, string Output)> ImportAsync(string list, params string[] options)
    {
        var path = Path.Combine(folder, "list.csv");
        await File.WriteAllTextAsync(path, list);
        var writer = new StringWriter();
        var code = await ImportTagsCommand.Create().Parse([path, "--output", MapFile, .. options]).InvokeAsync(new InvocationConfiguration { Output = writer, Error = writer });
        return (code, writer.ToString());
    }

    private static IReadOnlyList<BoundTag> LoadMap(string text)
    {
        var problems = new ProblemList();
        var root = WashBridge.Configuration.Yaml.YamlReader.Read("map", text, problems);
        PollGroup[] groups = [new(0, "a", default, default), new(1, "b", default, default)];
        var tags = TagMapBinder.Bind(MapBinder.Of(root, problems)!, new TagContext("w", 8, groups, IsOpcUa: false)).Tags;
        Assert.Empty(problems.Sorted([]));
        return tags;
    }
}
