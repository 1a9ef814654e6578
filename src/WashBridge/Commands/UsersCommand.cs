using System.CommandLine;
using Spectre.Console;
using WashBridge.Configuration.Binding;
using WashBridge.Web.Accounts;

namespace WashBridge.Commands;

/// <summary>The local users of the pages. Works while the service runs: it notices at the next request.</summary>
internal static class UsersCommand
{
    /// <param name="input">Where a password comes from when nobody types it.</param>
    public static Command Create(TextReader input, TimeProvider time)
    {
        var command = new Command("users", """
            The local users of the pages: who there is, and who may do what. Users are disabled, never deleted, because records name them.

            Works while the service runs. A password is asked for, or read as one line from --password-file (- for the input); never from the command line, which other users of the machine can see.

            Example: washbridge users add plant.washdb "K. Wash" --role administrator
            """);
        command.Subcommands.Add(List(time));
        command.Subcommands.Add(Add(input, time));
        command.Subcommands.Add(Role(time));
        command.Subcommands.Add(Plain("disable", "Lets a user in no more, and ends all sessions of the user.", time, (book, author, name) => book.Disable(author, name)));
        command.Subcommands.Add(Plain("enable", "Lets a disabled user in again.", time, (book, author, name) => book.Enable(author, name)));
        command.Subcommands.Add(Plain("unlock", "Lets a user in again who is locked out after wrong passwords.", time, (book, author, name) => book.Unlock(author, name)));
        command.Subcommands.Add(Reset(input, time));
        return command;
    }

    private static Command List(TimeProvider time)
    {
        var store = AccountsDesk.StoreArgument();
        var command = new Command("list", "Lists users with role and state.") { store };
        command.SetAction(parsed => AccountsDesk.Do(parsed.GetValue(store)!, parsed.InvocationConfiguration, time, desk =>
        {
            var accounts = desk.Accounts.All;
            foreach (var account in accounts)
            {
                var state = account.IsDisabled ? "disabled" : desk.Accounts.IsLockedOut(account) ? $"locked out until {account.LockedUntil:yyyy-MM-ddTHH:mm:ssZ}" : account.MustChange ? "must change the password" : "";
                var last = account.LastLogin is { } at ? $"last login {at:yyyy-MM-ddTHH:mm:ssZ}" : "never logged in";
                desk.Output.WriteLine(string.Join("  ", new[] { account.Name, Names.NameOf(account.Role), last, state }.Where(t => t.Length > 0)));
            }

            if (accounts.Count == 0)
            {
                desk.Output.WriteLine("nobody");
            }
        }));
        return command;
    }

    private static Command Add(TextReader input, TimeProvider time)
    {
        var (store, name, by, file) = (AccountsDesk.StoreArgument(), AccountsDesk.NameArgument("user"), AccountsDesk.ByOption(), PasswordOption());
        var role = AccountsDesk.RoleOption();
        var command = new Command("add", "Adds a user. The password must be changed at the first login.") { store, name, role, by, file };
        command.SetAction(parsed => AccountsDesk.Do(parsed.GetValue(store)!, parsed.InvocationConfiguration, time, desk =>
        {
            desk.Accounts.Add(AccountsDesk.Author(parsed.GetValue(by)), parsed.GetValue(name)!, AccountsDesk.RoleOf(parsed.GetValue(role)!), Password(parsed.GetValue(file), input));
            desk.Output.WriteLine($"added: {parsed.GetValue(name)}");
        }));
        return command;
    }

    private static Command Role(TimeProvider time)
    {
        var (store, name, by) = (AccountsDesk.StoreArgument(), AccountsDesk.NameArgument("user"), AccountsDesk.ByOption());
        var role = AccountsDesk.RoleOption();
        var command = new Command("role", "Gives a user another role, and ends all sessions of the user.") { store, name, role, by };
        command.SetAction(parsed => AccountsDesk.Do(parsed.GetValue(store)!, parsed.InvocationConfiguration, time, desk =>
        {
            desk.Accounts.SetRole(AccountsDesk.Author(parsed.GetValue(by)), parsed.GetValue(name)!, AccountsDesk.RoleOf(parsed.GetValue(role)!));
            desk.Output.WriteLine($"role: {parsed.GetValue(name)} is {parsed.GetValue(role)}");
        }));
        return command;
    }

    private static Command Reset(TextReader input, TimeProvider time)
    {
        var (store, name, by, file) = (AccountsDesk.StoreArgument(), AccountsDesk.NameArgument("user"), AccountsDesk.ByOption(), PasswordOption());
        var command = new Command("reset", "Gives a user a new password, to be changed at the next login. Ends all sessions of the user, and unlocks.") { store, name, by, file };
        command.SetAction(parsed => AccountsDesk.Do(parsed.GetValue(store)!, parsed.InvocationConfiguration, time, desk =>
        {
            desk.Accounts.Reset(AccountsDesk.Author(parsed.GetValue(by)), parsed.GetValue(name)!, Password(parsed.GetValue(file), input));
            desk.Output.WriteLine($"new password: {parsed.GetValue(name)}");
        }));
        return command;
    }

    private static Command Plain(string verb, string description, TimeProvider time, Action<AccountBook, Author, string> change)
    {
        var (store, name, by) = (AccountsDesk.StoreArgument(), AccountsDesk.NameArgument("user"), AccountsDesk.ByOption());
        var command = new Command(verb, description) { store, name, by };
        command.SetAction(parsed => AccountsDesk.Do(parsed.GetValue(store)!, parsed.InvocationConfiguration, time, desk =>
        {
            change(desk.Accounts, AccountsDesk.Author(parsed.GetValue(by)), parsed.GetValue(name)!);
            desk.Output.WriteLine($"{verb}: {parsed.GetValue(name)}");
        }));
        return command;
    }

    private static Option<string?> PasswordOption() => new("--password-file") { Description = "A file whose first line is the password; - for the input. Left out: it is asked for." };

    private static string Password(string? file, TextReader input)
    {
        if (file is null && ReferenceEquals(input, Console.In) && !Console.IsInputRedirected)
        {
            var first = AnsiConsole.Prompt(new TextPrompt<string>("Password:").Secret());
            return AnsiConsole.Prompt(new TextPrompt<string>("Again:").Secret()) == first ? first : throw new AccountException("password: the two differ; nothing was changed");
        }

        try
        {
            using var lines = file is null or "-" ? null : new StreamReader(file);
            return (lines ?? input).ReadLine() ?? throw new AccountException("password: found nothing; allowed: one line with the password");
        }
        catch (Exception failure) when (failure is IOException or UnauthorizedAccessException)
        {
            throw new AccountException($"--password-file {file}: cannot be read: {failure.Message}");
        }
    }
}
