using System.CommandLine;
using System.Globalization;
using WashBridge.Configuration.Binding;
using WashBridge.Web.Accounts;

namespace WashBridge.Commands;

/// <summary>The tokens by which programs use the HTTP API. Works while the service runs.</summary>
internal static class TokensCommand
{
    private const int StandardDays = 365;

    public static Command Create(TimeProvider time)
    {
        var command = new Command("tokens", """
            The tokens by which programs use the HTTP API. A token is shown once, when it is made; it is revoked, never deleted, because records name it.

            Example: washbridge tokens add plant.washdb scanner-1 --role operator --days 365
            """);
        command.Subcommands.Add(List(time));
        command.Subcommands.Add(Add(time));
        command.Subcommands.Add(Revoke(time));
        return command;
    }

    private static Command List(TimeProvider time)
    {
        var store = AccountsDesk.StoreArgument();
        var command = new Command("list", "Lists tokens with role, expiry and last use; never the tokens themselves.") { store };
        command.SetAction(parsed => AccountsDesk.Do(parsed.GetValue(store)!, parsed.InvocationConfiguration, time, desk =>
        {
            foreach (var token in desk.Tokens.All)
            {
                var state = token.Revoked is { } revoked ? $"revoked {Stamp(revoked)}" : token.IsValid(time.GetUtcNow()) ? $"until {Stamp(token.Expires)}" : $"expired {Stamp(token.Expires)}";
                desk.Output.WriteLine($"{token.Name}  {Names.NameOf(token.Role)}  {state}  {(token.LastUsed is { } used ? $"last used {Stamp(used)}" : "never used")}");
            }

            if (desk.Tokens.All.Count == 0)
            {
                desk.Output.WriteLine("none");
            }
        }));
        return command;
    }

    private static Command Add(TimeProvider time)
    {
        var (store, name, role, by) = (AccountsDesk.StoreArgument(), AccountsDesk.NameArgument("token"), AccountsDesk.RoleOption(), AccountsDesk.ByOption());
        var days = new Option<int>("--days") { Description = $"How long it is valid, 1 to {TokenBook.LongestLife.TotalDays:0} days.", DefaultValueFactory = _ => StandardDays }.Within(1, (int)TokenBook.LongestLife.TotalDays);
        var command = new Command("add", "Makes a token and prints it, once.") { store, name, role, days, by };
        command.SetAction(parsed => AccountsDesk.Do(parsed.GetValue(store)!, parsed.InvocationConfiguration, time, desk => desk.Output.WriteLine(desk.Tokens.Make(
            AccountsDesk.Author(parsed.GetValue(by)), parsed.GetValue(name)!, AccountsDesk.RoleOf(parsed.GetValue(role)!), TimeSpan.FromDays(parsed.GetValue(days))))));
        return command;
    }

    private static Command Revoke(TimeProvider time)
    {
        var (store, name, by) = (AccountsDesk.StoreArgument(), AccountsDesk.NameArgument("token"), AccountsDesk.ByOption());
        var command = new Command("revoke", "Makes a token worthless at once.") { store, name, by };
        command.SetAction(parsed => AccountsDesk.Do(parsed.GetValue(store)!, parsed.InvocationConfiguration, time, desk =>
        {
            desk.Tokens.Revoke(AccountsDesk.Author(parsed.GetValue(by)), parsed.GetValue(name)!);
            desk.Output.WriteLine($"revoked: {parsed.GetValue(name)}");
        }));
        return command;
    }

    private static string Stamp(DateTimeOffset time) => time.ToString("yyyy-MM-ddTHH:mm:ss'Z'", CultureInfo.InvariantCulture);
}
