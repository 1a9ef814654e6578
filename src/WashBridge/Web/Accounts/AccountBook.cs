using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using WashBridge.Configuration;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>The local users. What changes who may do what also ends the sessions of the account.</summary>
/// <param name="iterations">Of new hashes of passwords.</param>
internal sealed partial class AccountBook(AccountsFile file, ChangeBook changes, PasswordRules rules, TimeProvider time, int iterations = PasswordHash.StandardIterations)
{
    private const string Columns = "name, role, must_change, disabled, failures, locked_until, last_login";
    private const int MostAccounts = 1000;

    public int Iterations => iterations;

    public IReadOnlyList<Account> All => file.Read($"SELECT {Columns} FROM accounts ORDER BY name", Account);

    public Account? Find(string name) => file.Read($"SELECT {Columns} FROM accounts WHERE name = $name", Account, ("name", name)) is [var account, ..] ? account : null;

    public PasswordHash? PasswordOf(string name) =>
        file.Read("SELECT password FROM accounts WHERE name = $name", r => r.GetString(0), ("name", name)) is [var text] ? PasswordHash.Parse(text) : null;

    /// <exception cref="AccountException">The name or the password cannot be taken.</exception>
    public void Add(Author author, string name, Role role, string password)
    {
        name = name.Trim();
        if (!NameForm().IsMatch(name))
        {
            throw new AccountException($"name: found '{name}'; allowed: a letter, then up to 63 letters, digits, blanks or any of . @ ' _ -");
        }

        CheckPassword(name, password);
        var hash = PasswordHash.Of(password, iterations).ToString();
        var now = time.GetUtcNow().ToUnixTimeMilliseconds();
        file.Together(() =>
        {
            if (Find(name) is { } there)
            {
                throw new AccountException($"name: there is already a user '{there.Name}'; allowed: a name that nobody has, nor had");
            }

            if (file.Read("SELECT name FROM tokens WHERE name = $name", r => r.GetString(0), ("name", name)) is [var token])
            {
                throw new AccountException($"name: there is a token '{token}'; allowed: a name that no token has, so that records tell them apart");
            }

            if (All.Count >= MostAccounts)
            {
                throw new AccountException($"there are {MostAccounts} users already; no more are allowed. Larger sites use open-id-connect");
            }

            file.Run(
                "INSERT INTO accounts (name, role, password, must_change, made, password_set) VALUES ($name, $role, $password, 1, $now, $now)",
                ("name", name),
                ("role", role.ToString()),
                ("password", hash),
                ("now", now));
            changes.Note(author, name, "created", null, role.ToString());
            return 0;
        });
    }

    /// <exception cref="AccountException">There is no such user, or nobody would be left to administer.</exception>
    public void SetRole(Author author, string name, Role role) => Change(author, name, "role", a => a.Role.ToString(), role.ToString(), account =>
    {
        file.Run("UPDATE accounts SET role = $role WHERE name = $name", ("role", role.ToString()), ("name", account.Name));
        KeepOneAdministrator(account);
    });

    /// <exception cref="AccountException">There is no such user, or nobody would be left to administer.</exception>
    public void Disable(Author author, string name, string reason = "") => Change(
        author,
        name,
        "disabled",
        a => a.IsDisabled ? "true" : "false",
        "true",
        account =>
        {
            file.Run("UPDATE accounts SET disabled = 1 WHERE name = $name", ("name", account.Name));
            KeepOneAdministrator(account);
        },
        reason);

    public void Enable(Author author, string name) => Change(author, name, "disabled", a => a.IsDisabled ? "true" : "false", "false", account =>
        file.Run("UPDATE accounts SET disabled = 0, failures = 0, locked_until = NULL WHERE name = $name", ("name", account.Name)));

    public void Unlock(Author author, string name) => Change(author, name, "unlocked", _ => null, null, account =>
        file.Run("UPDATE accounts SET failures = 0, locked_until = NULL WHERE name = $name", ("name", account.Name)));

    /// <summary>An administrator gives a new password, to be changed at the next login.</summary>
    public void Reset(Author author, string name, string password) => SetPassword(author, name, password, mustChange: true);

    /// <summary>The user chose a new one.</summary>
    public void ChangePassword(Author author, string name, string password) => SetPassword(author, name, password, mustChange: false);

    /// <summary>A right password.</summary>
    public void Succeeded(string name) => file.Run(
        "UPDATE accounts SET failures = 0, locked_until = NULL, last_login = $now WHERE name = $name",
        ("now", time.GetUtcNow().ToUnixTimeMilliseconds()),
        ("name", name));

    /// <summary>A wrong password.</summary>
    /// <returns>How long nobody gets in with this name; zero: not locked out.</returns>
    public TimeSpan Failed(string name) => file.Together(() =>
    {
        if (Find(name) is not { } account)
        {
            return TimeSpan.Zero;
        }

        var failures = account.Failures + 1;
        var span = Lockouts.AfterAccountFailures(failures);
        var until = span > TimeSpan.Zero ? time.GetUtcNow() + span : (DateTimeOffset?)null;
        file.Run(
            "UPDATE accounts SET failures = $failures, locked_until = $until WHERE name = $name",
            ("failures", failures),
            ("until", until?.ToUnixTimeMilliseconds()),
            ("name", account.Name));
        if (until is not null)
        {
            changes.Note(Author.Program, account.Name, "locked", null, $"{until:yyyy-MM-ddTHH:mm:ssZ}", $"{failures} wrong passwords");
        }

        return span;
    });

    public bool IsLockedOut(Account account) => account.LockedUntil is { } until && time.GetUtcNow() < until;

    private void SetPassword(Author author, string name, string password, bool mustChange)
    {
        CheckPassword(name, password);
        var hash = PasswordHash.Of(password, iterations).ToString();
        Change(author, name, "password", _ => null, null, account => file.Run(
            "UPDATE accounts SET password = $password, must_change = $must, failures = 0, locked_until = NULL, password_set = $now WHERE name = $name",
            ("password", hash),
            ("must", mustChange ? 1 : 0),
            ("now", time.GetUtcNow().ToUnixTimeMilliseconds()),
            ("name", account.Name)));
    }

    private void CheckPassword(string name, string password)
    {
        if (rules.Problem(password, name) is { } problem)
        {
            throw new AccountException($"password: {problem}");
        }
    }

    private void Change(Author author, string name, string what, Func<Account, string?> old, string? value, Action<Account> change, string reason = "") => file.Together(() =>
    {
        var account = Find(name) ?? throw new AccountException($"name: there is no user '{name}'; there {(All.Count == 0 ? "is nobody" : $"are {string.Join(", ", All.Select(a => a.Name))}")}");
        var before = old(account);
        if (before is not null && before == value)
        {
            return 0;
        }

        change(account);
        file.Run("DELETE FROM sessions WHERE name = $name AND role IS NULL", ("name", account.Name));
        changes.Note(author, account.Name, what, before, value, reason);
        return 0;
    });

    private void KeepOneAdministrator(Account before)
    {
        if (before is { Role: Role.Administrator, IsDisabled: false } && !All.Any(a => a is { Role: Role.Administrator, IsDisabled: false }))
        {
            throw new AccountException("nobody would be left who may administer; allowed: make somebody else administrator first");
        }
    }

    private static Account Account(SqliteDataReader r) => new()
    {
        Name = r.GetString(0),
        Role = Enum.Parse<Role>(r.GetString(1)),
        MustChange = r.GetBoolean(2),
        IsDisabled = r.GetBoolean(3),
        Failures = r.GetInt32(4),
        LockedUntil = r.IsDBNull(5) ? null : DateTimeOffset.FromUnixTimeMilliseconds(r.GetInt64(5)),
        LastLogin = r.IsDBNull(6) ? null : DateTimeOffset.FromUnixTimeMilliseconds(r.GetInt64(6)),
    };

    [GeneratedRegex(@"^\p{L}[\p{L}\p{N} .@'_-]{0,63}\z")]
    private static partial Regex NameForm();
}
