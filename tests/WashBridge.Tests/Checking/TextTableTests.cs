using Spectre.Console;
using WashBridge.Checking;

namespace WashBridge.Tests.Checking;

public sealed class TextTableTests
{
    [Fact]
    public void Redirected_output_is_aligned_plain_text_without_trailing_blanks()
    {
        var writer = new StringWriter { NewLine = "\n" };
        Table().Write(writer, terminal: null);
        Assert.Equal("signal      value\na.long.one  1\nb           [22]\n", writer.ToString());
    }

    [Fact]
    public void A_terminal_gets_a_drawn_table_in_which_brackets_are_no_markup()
    {
        var writer = new StringWriter();
        var terminal = AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(writer), Ansi = AnsiSupport.No });
        Table().Write(writer, terminal);
        Assert.Contains("│ b          │ [22]  │", writer.ToString(), StringComparison.Ordinal);
    }

    private static TextTable Table()
    {
        var table = new TextTable("signal", "value");
        table.Add("a.long.one", "1");
        table.Add("b", "[22]");
        return table;
    }
}
