using System.Buffers.Text;
using System.Security.Cryptography;
using Microsoft.Data.Sqlite;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>Somebody who is logged in.</summary>
/// <param name="Key">Hash of what the cookie holds.</param>
/// <param name="Name">As logged in.</param>
/// <param name="Role">What may be done, as the account says now.</param>
/// <param name="IsLocal">A local user, not one of the identity provider.</param>
/// <param name="MustChange">Nothing but a new password may be told.</param>
/// <param name="Seen">When it was used last, to the minute.</param>
/// <param name="Proven">When the person last proved to be that person.</param>
internal sealed record Session(string Key, string Name, Role Role, bool IsLocal, bool MustChange, DateTimeOffset Begun, DateTimeOffset Seen, DateTimeOffset Proven);

/// <summary>
/// Sessions are kept by the server, so that one can be ended at once: at logout, and with all others of an account when its password or role changes or it is disabled.
/// The cookie holds 256 random bits; the file only their hash.
/// </summary>
internal sealed class SessionBook(AccountsFile file, SessionLimits limits, TimeProvider time)
{
    private const int IdBytes = 32;
    private static readonly TimeSpan SeenStep = TimeSpan.FromMinutes(1);

    /// <param name="role">For a user of the identity provider; null: the local account says it.</param>
    /// <returns>What the cookie holds.</returns>
    public string Begin(string name, Role? role)
    {
        Span<byte> random = stackalloc byte[IdBytes];
        RandomNumberGenerator.Fill(random);
        var id = Base64Url.EncodeToString(random);
        var now = Now();
        file.Together(() =>
        {
            file.Run("DELETE FROM sessions WHERE begun <= $begun OR seen <= $seen", ("begun", now - (long)limits.Longest.TotalMilliseconds), ("seen", now - (long)limits.Idle.TotalMilliseconds));
            return file.Run(
                "INSERT INTO sessions (id, name, role, begun, seen, proven) VALUES ($id, $name, $role, $now, $now, $now)",
                ("id", KeyOf(id)),
                ("name", name),
                ("role", role?.ToString()),
                ("now", now));
        });
        return id;
    }

    /// <summary>Null: there is none, it has ended, or the account is disabled.</summary>
    /// <param name="id">What the cookie holds.</param>
    /// <param name="isUse">A person did something, as opposed to a page that keeps itself fresh.</param>
    public Session? Find(string id, bool isUse)
    {
        var key = KeyOf(id);
        if (file.Read(
            """
            SELECT s.id, s.name, coalesce(s.role, a.role), s.role IS NULL, coalesce(a.must_change, 0), s.begun, s.seen, s.proven
            FROM sessions s LEFT JOIN accounts a ON a.name = s.name AND s.role IS NULL WHERE s.id = $id AND (s.role IS NOT NULL OR a.disabled = 0)
            """,
            Read,
            ("id", key)) is not [var session])
        {
            return null;
        }

        var now = time.GetUtcNow();
        if (now - session.Begun >= limits.Longest || now - session.Seen >= limits.Idle)
        {
            End(id);
            return null;
        }

        if (now - session.Seen >= SeenStep && (isUse || session.Role == Role.Viewer))
        {
            file.Run("UPDATE sessions SET seen = $now WHERE id = $id", ("now", now.ToUnixTimeMilliseconds()), ("id", key));
        }

        return session;
    }

    public void End(string id) => file.Run("DELETE FROM sessions WHERE id = $id", ("id", KeyOf(id)));

    /// <summary>The hash alone is kept: who reads the file cannot make a cookie of it.</summary>
    private static string KeyOf(string id) => Convert.ToHexStringLower(SHA256.HashData(System.Text.Encoding.UTF8.GetBytes(id)));

    private static Session Read(SqliteDataReader r) =>
        new(r.GetString(0), r.GetString(1), Enum.Parse<Role>(r.GetString(2)), r.GetBoolean(3), r.GetBoolean(4), Time(r.GetInt64(5)), Time(r.GetInt64(6)), Time(r.GetInt64(7)));

    private static DateTimeOffset Time(long milliseconds) => DateTimeOffset.FromUnixTimeMilliseconds(milliseconds);

    private long Now() => time.GetUtcNow().ToUnixTimeMilliseconds();
}

/// <summary>How long a session lasts. Pages that keep themselves fresh count as use only for viewers, who can change nothing: a wall screen stays, a desk does not.</summary>
/// <param name="Idle">Without use.</param>
/// <param name="Longest">Even with use.</param>
internal sealed record SessionLimits(TimeSpan Idle, TimeSpan Longest)
{
    public static SessionLimits Standard { get; } = new(TimeSpan.FromMinutes(30), TimeSpan.FromHours(12));
}
