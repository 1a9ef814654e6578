using System.Globalization;
using System.Text;
using System.Text.RegularExpressions;
using WashBridge.Configuration;

namespace WashBridge.Web.Accounts;

/// <summary>
/// What may be a password, in the spirit of NIST SP 800-63B, 5.1.1.2: long, of any characters, and nothing obvious. There is no rule about kinds of characters.
/// </summary>
/// <param name="least">Fewest characters.</param>
/// <param name="words">What is obvious at this site, such as its name.</param>
internal sealed partial class PasswordRules(int least, IEnumerable<string> words)
{
    public const int StandardLeast = 12;
    public const int HighestLeast = 64;

    private const int FewestDistinct = 5;

    /// <summary>What must be left of a password once the obvious is taken out of it.</summary>
    private const int FewestLeft = 6;

    private const int ShortestWord = 3;
    private const int LongestStep = 1;

    private static readonly string[] Rows = ["qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "azertyuiop", "1234567890"];

    /// <summary>Words that come first to mind, here and anywhere. Our own list.</summary>
    private static readonly string[] Obvious =
    [
        "administrator", "washbridge", "password", "passphrase", "passwort", "welcome", "letmein", "changeme", "trustno", "iloveyou", "football", "superman", "princess", "sunshine", "dragon",
        "monkey", "master", "secret", "login", "operator", "viewer", "brewery", "brewing", "washer", "station", "caustic", "sanitiser", "default", "summer", "winter", "autumn", "spring",
        "monday", "friday", "admin", "wash", "beer", "kegs", "keg", "test", "user", "pass",
    ];

    private readonly string[] _words = [.. words.SelectMany(Parts)];

    public int Least => least;

    /// <summary>What is wrong and what is allowed, or null. Never says the password itself.</summary>
    public string? Problem(string password, string user)
    {
        var length = password.EnumerateRunes().Count();
        if (length < least)
        {
            return $"found {length} characters; allowed: at least {least}, of any kind. Several words that do not belong together are good";
        }

        if (Encoding.UTF8.GetByteCount(password) > PasswordHash.MaxPasswordBytes)
        {
            return $"found {Encoding.UTF8.GetByteCount(password)} bytes; allowed: at most {PasswordHash.MaxPasswordBytes}";
        }

        if (password.Any(char.IsControl))
        {
            return "found a control character; allowed: anything that can be typed on one line";
        }

        var plain = password.ToLowerInvariant();
        if (plain.Distinct().Count() < FewestDistinct)
        {
            return $"found {plain.Distinct().Count()} different characters; allowed: at least {FewestDistinct} different ones";
        }

        var left = WithoutObvious(plain, Parts(user));
        return left.Length < FewestLeft
            ? $"found mostly what is guessed first: common words, the user's or the site's name, years, rows of keys, repetition; allowed: at least {FewestLeft} characters besides"
            : null;
    }

    private string WithoutObvious(string text, IEnumerable<string> user)
    {
        foreach (var word in user.Concat(_words).Concat(Obvious).OrderByDescending(w => w.Length))
        {
            text = text.Replace(word, " ", StringComparison.Ordinal);
        }

        text = Years().Replace(text, " ");
        return WithoutRuns(text);
    }

    /// <summary>Leaves out what follows from the two characters before it: the same again, the next or the last of the alphabet, the neighbour in a row of keys.</summary>
    private static string WithoutRuns(string text)
    {
        var left = new StringBuilder();
        for (var i = 0; i < text.Length; i++)
        {
            if (!(i >= 1 && Follows(text[i - 1], text[i])) && !char.IsWhiteSpace(text[i]) && !left.ToString().Contains(text[Math.Max(0, i - 1)..(i + 1)], StringComparison.Ordinal))
            {
                left.Append(text[i]);
            }
        }

        return left.ToString();
    }

    private static bool Follows(char before, char after) =>
        Math.Abs(after - before) <= LongestStep || Rows.Any(r => r.IndexOf(before) is >= 0 and var i && r.IndexOf(after) is >= 0 and var j && Math.Abs(i - j) == 1);

    private static IEnumerable<string> Parts(string text) => Separators().Split(text.ToLower(CultureInfo.InvariantCulture)).Where(w => w.Length >= ShortestWord);

    [GeneratedRegex(@"(19|20)[0-9]{2}")]
    private static partial Regex Years();

    [GeneratedRegex(@"[^\p{L}\p{N}]+")]
    private static partial Regex Separators();
}
