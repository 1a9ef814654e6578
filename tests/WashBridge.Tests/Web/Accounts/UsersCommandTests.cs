using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Web.Accounts;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Web.Accounts;

public sealed class UsersCommandTests : IDisposable
{
    private const string Password = "otter lamp gravel nine";

    private readonly TemporaryFolder _folder = new();
    private readonly StringWriter _output = new();
    private readonly StringWriter _errors = new();
    private readonly SettableTime _time = new(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));

    private string Store => _folder["a.washdb"];

    public void Dispose()
    {
        _output.Dispose();
        _errors.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void The_first_administrator_is_made_before_there_is_a_store_and_recorded_once_there_is_one()
    {
        Assert.Equal(ExitCodes.Success, Users("add", Store, "K. Wash", "--role", "administrator", "--by", "T. Ester", "--password-file", "-"));
        Assert.Equal(ExitCodes.Success, Users("list", Store));
        Assert.Contains("K. Wash  administrator  never logged in  must change the password", _output.ToString(), StringComparison.Ordinal);

        HistorianFile.Open(Store, new HistorianOptions(), _time).Dispose();
        Assert.Equal(ExitCodes.Success, Users("add", Store, "L. Ine", "--role", "operator", "--password-file", "-"));
        using var reader = HistorianFile.OpenReader(Store);
        var changes = reader.ReadEvents(new EventQuery { Kinds = ["account-changed"] }).Cast<AccountChanged>().ToList();
        Assert.Equal(["K. Wash", "L. Ine"], changes.Select(c => c.User));
        Assert.Equal(("T. Ester", Means.Command), (changes[0].Act.By, changes[0].Act.Means));
    }

    [Fact]
    public void While_the_service_writes_the_change_waits_for_it()
    {
        using var service = HistorianFile.Open(Store, new HistorianOptions(), _time);
        Assert.Equal(ExitCodes.Success, Users("add", Store, "K. Wash", "--role", "viewer", "--password-file", "-"));
        Assert.Equal(0, service.LastSequence);
        using var file = AccountsFile.Open(Store);
        AccountRecords.Take(new ChangeBook(file, _time), service, _ => { });
        Assert.Equal(1, service.LastSequence);
    }

    [Fact]
    public void Role_disable_enable_reset_and_unlock_do_what_they_say()
    {
        Users("add", Store, "K. Wash", "--role", "viewer", "--password-file", "-");
        Assert.Equal(ExitCodes.Success, Users("role", Store, "k. wash", "--role", "qa"));
        Assert.Equal(ExitCodes.Success, Users("disable", Store, "K. Wash"));
        Assert.Equal((Role.Qa, true), Look());
        Assert.Equal(ExitCodes.Success, Users("enable", Store, "K. Wash"));
        Assert.Equal((Role.Qa, false), Look());
        Assert.Equal(ExitCodes.Success, Users("reset", Store, "K. Wash", "--password-file", "-"));
        Assert.Equal(ExitCodes.Success, Users("unlock", Store, "K. Wash"));

        (Role Role, bool IsDisabled) Look()
        {
            using var file = AccountsFile.Open(Store);
            var account = new AccountBook(file, new ChangeBook(file, _time), new PasswordRules(12, []), _time).Find("K. Wash")!;
            return (account.Role, account.IsDisabled);
        }
    }

    [Fact]
    public void What_cannot_be_is_told_with_what_is_allowed()
    {
        Users("add", Store, "Boss", "--role", "administrator", "--password-file", "-");
        foreach (var (message, arguments) in new (string, string[])[]
        {
            ("there is already a user 'Boss'", ["add", Store, "BOSS", "--role", "viewer", "--password-file", "-"]),
            ("name: found '<b>'; allowed: a letter", ["add", Store, "<b>", "--role", "viewer", "--password-file", "-"]),
            ("there is no user 'Nobody'; there are Boss", ["disable", Store, "Nobody"]),
            ("nobody would be left who may administer", ["disable", Store, "Boss"]),
            ("nobody would be left who may administer", ["role", Store, "Boss", "--role", "qa"]),
            ("--password-file none.txt: cannot be read", ["reset", Store, "Boss", "--password-file", "none.txt"]),
            ("there is no folder", ["list", Path.Combine(_folder["nowhere"], "a.washdb")]),
        })
        {
            Assert.Equal(ExitCodes.ConfigurationErrors, Users(arguments));
            Assert.Contains(message, _errors.ToString(), StringComparison.Ordinal);
        }

        Assert.Equal(ExitCodes.ConfigurationErrors, Run(UsersCommand.Create(new StringReader("too short"), _time), "add", Store, "Other", "--role", "viewer", "--password-file", "-"));
        Assert.Contains("password: found 9 characters; allowed: at least 12", _errors.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void A_token_is_printed_once_and_can_be_revoked()
    {
        Assert.Equal(ExitCodes.Success, Run(TokensCommand.Create(_time), "add", Store, "scanner-1", "--role", "operator", "--days", "30"));
        var token = _output.ToString().Trim();
        using (var file = AccountsFile.Open(Store))
        {
            var book = new TokenBook(file, new ChangeBook(file, _time), _time);
            Assert.Equal(("scanner-1", Role.Operator), (book.Find(token)!.Name, book.Find(token)!.Role));
        }

        Assert.Equal(ExitCodes.Success, Run(TokensCommand.Create(_time), "revoke", Store, "scanner-1"));
        Assert.Equal(ExitCodes.Success, Run(TokensCommand.Create(_time), "list", Store));
        Assert.Contains("scanner-1  operator  revoked 2031-03-05T06:00:00Z", _output.ToString(), StringComparison.Ordinal);
        Assert.Equal(ExitCodes.ConfigurationErrors, Run(TokensCommand.Create(_time), "add", Store, "scanner-1", "--role", "viewer"));
        Assert.Equal(ExitCodes.ConfigurationErrors, Run(TokensCommand.Create(_time), "add", Store, "scanner-2", "--role", "viewer", "--days", "0"));
        Assert.Contains("--days: found '0'; allowed: a whole number from 1 to 730", _errors.ToString(), StringComparison.Ordinal);
    }

    private int Users(params string[] arguments) => Run(UsersCommand.Create(new StringReader(Password), _time), arguments);

    private int Run(Command command, params string[] arguments) => command.Parse(arguments).Invoke(new InvocationConfiguration { Output = _output, Error = _errors, EnableDefaultExceptionHandler = false });
}
