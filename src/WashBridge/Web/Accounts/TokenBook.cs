using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Data.Sqlite;
using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>What a program shows instead of a name and a password. Revoked, never deleted: records name it.</summary>
/// <param name="Name">Stands in records.</param>
public sealed record AccessToken(string Name, Role Role, DateTimeOffset Made, string MadeBy, DateTimeOffset Expires, DateTimeOffset? LastUsed, DateTimeOffset? Revoked)
{
    public bool IsValid(DateTimeOffset now) => Revoked is null && now < Expires;
}

/// <summary>Tokens of programs. A token is 256 random bits and is shown once; the file holds its SHA-256, which is enough for what cannot be guessed.</summary>
internal sealed partial class TokenBook(AccountsFile file, ChangeBook changes, TimeProvider time)
{
    /// <summary>Makes a token that got into a file or a log easy to find.</summary>
    public const string Prefix = "washbridge_";
    public const int MostTokens = 1000;

    private const int SecretBytes = 32;
    private const string Columns = "name, role, made, made_by, expires, last_used, revoked";
    private static readonly TimeSpan UsedStep = TimeSpan.FromMinutes(1);

    public static TimeSpan ShortestLife { get; } = TimeSpan.FromHours(1);

    public static TimeSpan LongestLife { get; } = TimeSpan.FromDays(730);

    public IReadOnlyList<AccessToken> All => file.Read($"SELECT {Columns} FROM tokens ORDER BY name", Token);

    /// <returns>The token, which nobody can show again.</returns>
    /// <exception cref="AccountException">It cannot be made so.</exception>
    public string Make(Author author, string name, Role role, TimeSpan life)
    {
        name = name.Trim();
        if (!NameForm().IsMatch(name))
        {
            throw new AccountException($"name: found '{name}'; allowed: a letter, then up to 63 letters, digits, blanks or any of . _ -");
        }

        if (life < ShortestLife || life > LongestLife)
        {
            throw new AccountException($"expiry: found {life.TotalDays:0.##} days; allowed: 1 hour to {LongestLife.TotalDays:0} days");
        }

        var token = Prefix + Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(SecretBytes));
        var now = time.GetUtcNow();
        file.Together(() =>
        {
            if (file.Read("SELECT name FROM tokens WHERE name = $name UNION SELECT name FROM accounts WHERE name = $name", r => r.GetString(0), ("name", name)) is [var there, ..])
            {
                throw new AccountException($"name: there is already a token or user '{there}'; allowed: a name that none has, nor had");
            }

            if (All.Count >= MostTokens)
            {
                throw new AccountException($"there are {MostTokens} tokens already; no more are allowed");
            }

            file.Run(
                "INSERT INTO tokens (name, role, hash, made, made_by, expires) VALUES ($name, $role, $hash, $made, $by, $expires)",
                ("name", name),
                ("role", role.ToString()),
                ("hash", HashOf(token)),
                ("made", now.ToUnixTimeMilliseconds()),
                ("by", author.Name),
                ("expires", (now + life).ToUnixTimeMilliseconds()));
            changes.Note(author, name, "token-made", null, $"{role} until {now + life:yyyy-MM-ddTHH:mm:ssZ}");
            return 0;
        });
        return token;
    }

    /// <exception cref="AccountException">There is none of that name.</exception>
    public void Revoke(Author author, string name) => file.Together(() =>
    {
        var token = All.FirstOrDefault(t => t.Name.Equals(name, StringComparison.OrdinalIgnoreCase)) ?? throw new AccountException($"name: there is no token '{name}'");
        if (token.Revoked is null)
        {
            file.Run("UPDATE tokens SET revoked = $now WHERE name = $name", ("now", time.GetUtcNow().ToUnixTimeMilliseconds()), ("name", token.Name));
            changes.Note(author, token.Name, "token-revoked");
        }

        return 0;
    });

    /// <summary>Null: unknown, revoked or expired.</summary>
    public AccessToken? Find(string text)
    {
        var now = time.GetUtcNow();
        if (!text.StartsWith(Prefix, StringComparison.Ordinal) || file.Read($"SELECT {Columns} FROM tokens WHERE hash = $hash", Token, ("hash", HashOf(text))) is not [var token] || !token.IsValid(now))
        {
            return null;
        }

        if (token.LastUsed is not { } last || now - last >= UsedStep)
        {
            file.Run("UPDATE tokens SET last_used = $now WHERE name = $name", ("now", now.ToUnixTimeMilliseconds()), ("name", token.Name));
        }

        return token;
    }

    private static byte[] HashOf(string token) => SHA256.HashData(Encoding.UTF8.GetBytes(token));

    private static AccessToken Token(SqliteDataReader r) => new(
        r.GetString(0),
        Enum.Parse<Role>(r.GetString(1)),
        DateTimeOffset.FromUnixTimeMilliseconds(r.GetInt64(2)),
        r.GetString(3),
        DateTimeOffset.FromUnixTimeMilliseconds(r.GetInt64(4)),
        r.IsDBNull(5) ? null : DateTimeOffset.FromUnixTimeMilliseconds(r.GetInt64(5)),
        r.IsDBNull(6) ? null : DateTimeOffset.FromUnixTimeMilliseconds(r.GetInt64(6)));

    [GeneratedRegex(@"^\p{L}[\p{L}\p{N} ._-]{0,63}\z")]
    private static partial Regex NameForm();
}
