using System.CommandLine;
using WashBridge.Configuration.Binding;
using WashBridge.Core.Records;
using WashBridge.Historian;
using WashBridge.Pairing;
using WashBridge.Web.Accounts;

namespace WashBridge.Commands;

/// <summary>What the commands about users and tokens share: the accounts beside a store, opened for one change, which is then recorded.</summary>
internal sealed class AccountsDesk : IDisposable
{
    private readonly AccountsFile _file;

    private AccountsDesk(string store, TextWriter output, TimeProvider time)
    {
        _file = AccountsFile.Open(store);
        Output = output;
        Changes = new ChangeBook(_file, time);
        Accounts = new AccountBook(_file, Changes, new PasswordRules(PasswordRules.StandardLeast, [Path.GetFileNameWithoutExtension(store)]), time);
        Tokens = new TokenBook(_file, Changes, time);
    }

    public AccountBook Accounts { get; }

    public TokenBook Tokens { get; }

    public TextWriter Output { get; }

    private ChangeBook Changes { get; }

    public static Argument<FileInfo> StoreArgument() => new("store") { Description = "The historian's file; accounts lie beside it." };

    public static Argument<string> NameArgument(string of) => new("name") { Description = $"The {of}'s name, as records show it." };

    public static Option<string?> ByOption() => new("--by") { Description = "Who does it, for the record. Left out: the user of this machine." };

    public static Option<string> RoleOption()
    {
        var option = new Option<string>("--role") { Description = "What may be done; each role may do all that those before it may.", Required = true };
        option.AcceptOnlyFromAmong([.. Names.Of<Role>()]);
        return option;
    }

    public static Role RoleOf(string name) => Names.Parse<Role>(name) ?? throw new AccountException($"role: found '{name}'; allowed: {string.Join(", ", Names.Of<Role>())}");

    public static Author Author(string? by) => new(string.IsNullOrWhiteSpace(by) ? Environment.UserName : by.Trim(), null, Means.Command);

    /// <returns>An exit code.</returns>
    public static int Do(FileInfo store, InvocationConfiguration invocation, TimeProvider time, Action<AccountsDesk> work)
    {
        if (store.Directory is { Exists: false } folder)
        {
            invocation.Error.WriteLine($"{store.FullName}: there is no folder {folder.FullName}. Give the historian's file, as `run` prints it at start; it need not be there yet, its folder must.");
            return ExitCodes.ConfigurationErrors;
        }

        try
        {
            using var desk = new AccountsDesk(store.FullName, invocation.Output, time);
            work(desk);
            desk.Record(store, time);
            return ExitCodes.Success;
        }
        catch (AccountException refused)
        {
            invocation.Error.WriteLine(refused.Message);
            return ExitCodes.ConfigurationErrors;
        }
    }

    public void Dispose() => _file.Dispose();

    /// <summary>Into the historian at once, unless the service writes to it or there is none yet: then the service takes it, within seconds or when it starts.</summary>
    private void Record(FileInfo store, TimeProvider time)
    {
        if (!store.Exists || Changes.Waiting.Count == 0)
        {
            return;
        }

        try
        {
            using var historian = Historian.Historian.Open(store.FullName, new HistorianOptions(), time);

            // One of a pair may be a copy: the service knows, and takes it when it may.
            if (PairMemory.Read(historian) is null)
            {
                AccountRecords.Take(Changes, historian, _ => { });
            }
        }
        catch (HistorianException inUse) when (inUse.Fault == HistorianFault.InUse)
        {
            // The service takes it.
        }
    }
}
