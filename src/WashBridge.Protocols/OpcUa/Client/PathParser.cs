using System.Globalization;
using System.Text;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>The text form of relative paths (OPC 10000-4, annex A.2), without named reference types.</summary>
internal static class PathParser
{
    private const string Reserved = "/.<>:#!&";

    /// <exception cref="FormatException">The message says where and what is allowed.</exception>
    public static IReadOnlyList<NodeAddress.PathStep> Parse(string text)
    {
        List<NodeAddress.PathStep> steps = [];
        for (var at = 0; at < text.Length;)
        {
            var isAggregate = text[at] switch
            {
                '/' => false,
                '.' => true,
                _ => throw Wrong(text, at, "expected / or . before a name"),
            };
            at++;
            steps.Add(ReadStep(text, isAggregate, ref at));
        }

        return steps;
    }

    private static NodeAddress.PathStep ReadStep(string text, bool isAggregate, ref int at)
    {
        string? uri = null;
        ushort index = 0;
        if (string.CompareOrdinal(text, at, "nsu=", 0, 4) == 0)
        {
            var end = text.IndexOf(';', at);
            uri = end > at + 4 ? text[(at + 4)..end] : throw Wrong(text, at, "nsu= must be followed by a URI and a semicolon");
            at = end + 1;
        }
        else if (text.AsSpan(at).IndexOfAnyExceptInRange('0', '9') is > 0 and var digits && text[at + digits] == ':')
        {
            if (!ushort.TryParse(text.AsSpan(at, digits), NumberStyles.None, CultureInfo.InvariantCulture, out index))
            {
                throw Wrong(text, at, "a namespace index is 0 to 65535");
            }

            at += digits + 1;
        }

        var begin = at;
        var name = new StringBuilder();
        for (; at < text.Length && text[at] is not ('/' or '.'); at++)
        {
            if (text[at] == '&' && at + 1 < text.Length && Reserved.Contains(text[at + 1]))
            {
                at++;
            }
            else if (Reserved.Contains(text[at]))
            {
                throw Wrong(text, at, $"'{text[at]}' within a name is written with & in front");
            }

            name.Append(text[at]);
        }

        return name.Length > 0 ? new NodeAddress.PathStep(isAggregate, index, uri, name.ToString()) : throw Wrong(text, begin, "a name is missing");
    }

    private static FormatException Wrong(string text, int at, string why) =>
        new($"\"{text}\" is no path: {why}, at character {at + 1}; allowed: names like /Objects/2:Washer/2:Temperature");
}
