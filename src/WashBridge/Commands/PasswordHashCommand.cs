using System.CommandLine;
using System.Text;
using Spectre.Console;
using WashBridge.Configuration;

namespace WashBridge.Commands;

/// <summary><c>password-hash</c>: what a configuration may hold of a password.</summary>
internal static class PasswordHashCommand
{
    /// <param name="input">Where the password comes from when nobody types it.</param>
    public static Command Create(TextReader input)
    {
        var command = new Command("password-hash", """
            Prints the hash of a password, for a user of our own OPC UA server (opc-ua.server.users in the site file).

            The password is asked for, or read as one line from the input; never from the command line, which other users of the machine can see.

            Example: washbridge password-hash
            Exit codes: 0 done; 1 the password is empty, too long, or was typed differently the second time.
            """);
        command.SetAction(parsed =>
        {
            var output = parsed.InvocationConfiguration.Output;
            var isTyped = ReferenceEquals(input, Console.In) && !Console.IsInputRedirected;
            var password = isTyped ? Ask() : input.ReadLine();
            if (password is null || password.Length == 0)
            {
                output.WriteLine(isTyped && password is null ? "The two passwords differ; nothing was made." : "password: found nothing; allowed: one line that is not empty");
                return ExitCodes.ConfigurationErrors;
            }

            if (Encoding.UTF8.GetByteCount(password) > PasswordHash.MaxPasswordBytes)
            {
                output.WriteLine($"password: found {Encoding.UTF8.GetByteCount(password)} bytes; allowed: up to {PasswordHash.MaxPasswordBytes}");
                return ExitCodes.ConfigurationErrors;
            }

            output.WriteLine($"password-hash: \"{PasswordHash.Of(password)}\"");
            return ExitCodes.Success;
        });
        return command;
    }

    /// <summary>Null: the two differ.</summary>
    private static string? Ask()
    {
        var first = AnsiConsole.Prompt(new TextPrompt<string>("Password:").Secret());
        return AnsiConsole.Prompt(new TextPrompt<string>("Again:").Secret()) == first ? first : null;
    }
}
