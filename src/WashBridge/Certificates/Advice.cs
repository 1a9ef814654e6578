using System.Text.RegularExpressions;

namespace WashBridge.Certificates;

/// <summary>Messages of the library about certificates, with what a user of this program does: the library knows neither site file nor keys.</summary>
internal static partial class Advice
{
    /// <param name="site">The site file, or a folder of certificates.</param>
    public static string For(string message, string site) => Exception().Replace(
        message.Replace("washbridge certificates trust ", $"washbridge certificates trust {site} ", StringComparison.Ordinal),
        match => $"write allow: [{match.Groups[1].Value.Replace(' ', '-')}] in the washer's connection to let it pass knowingly");

    [GeneratedRegex("allow '([a-z ]+)' for (?:this peer|it)")]
    private static partial Regex Exception();
}
