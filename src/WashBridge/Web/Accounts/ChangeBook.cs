using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>A change of an account that is to be recorded.</summary>
/// <param name="Number">Grows, never repeats.</param>
/// <param name="User">Whose account, or which token.</param>
/// <param name="What">Such as <c>created</c>, <c>role</c>, <c>password</c>, <c>locked</c>.</param>
internal sealed record Change(long Number, DateTimeOffset At, Author Author, string User, string What, string? Old, string? New, string Reason);

/// <summary>
/// Changes of accounts that are not in the historian yet. They are noted in the transaction that makes them and taken out once they are recorded, so that none is
/// lost where a command changes an account while the service holds the historian.
/// </summary>
internal sealed class ChangeBook(AccountsFile file, TimeProvider time)
{
    public const int MostAtOnce = 1000;

    public void Note(Author author, string user, string change, string? old = null, string? value = null, string reason = "") => file.Run(
        "INSERT INTO changes (at, by, role, means, user, change, old, new, reason) VALUES ($at, $by, $role, $means, $user, $change, $old, $new, $reason)",
        ("at", time.GetUtcNow().ToUnixTimeMilliseconds()),
        ("by", author.Name),
        ("role", author.Role?.ToString()),
        ("means", author.Means.ToString()),
        ("user", user),
        ("change", change),
        ("old", old),
        ("new", value),
        ("reason", reason));

    public IReadOnlyList<Change> Waiting => file.Read(
        "SELECT number, at, by, role, means, user, change, old, new, reason FROM changes ORDER BY number LIMIT $most",
        r => new Change(
            r.GetInt64(0),
            DateTimeOffset.FromUnixTimeMilliseconds(r.GetInt64(1)),
            new Author(r.GetString(2), r.IsDBNull(3) ? null : Enum.Parse<Role>(r.GetString(3)), Enum.Parse<Means>(r.GetString(4))),
            r.GetString(5),
            r.GetString(6),
            r.IsDBNull(7) ? null : r.GetString(7),
            r.IsDBNull(8) ? null : r.GetString(8),
            r.GetString(9)),
        ("most", MostAtOnce));

    public void Recorded(long upTo) => file.Run("DELETE FROM changes WHERE number <= $number", ("number", upTo));
}
