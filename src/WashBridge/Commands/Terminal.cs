using Spectre.Console;

namespace WashBridge.Commands;

/// <summary>The terminal; where output goes to a file or another program instead, lines are not broken.</summary>
internal static class Terminal
{
    private const int Unbroken = 10_000;

    public static IAnsiConsole Output { get; } = On(Console.Out);

    /// <summary>The terminal that an output goes to; null where it goes to a file, another program or a test.</summary>
    public static IAnsiConsole? Of(TextWriter output) => ReferenceEquals(output, Console.Out) && !Console.IsOutputRedirected ? AnsiConsole.Console : null;

    public static IAnsiConsole On(TextWriter output)
    {
        var console = AnsiConsole.Create(new AnsiConsoleSettings { Out = new AnsiConsoleOutput(output) });
        if (Console.IsOutputRedirected || output != Console.Out)
        {
            console.Profile.Width = Unbroken;
        }

        return console;
    }
}
