using System.Diagnostics.CodeAnalysis;
using System.Globalization;
using WashBridge.Core.Cycles;

namespace WashBridge.Core.Records;

/// <summary>A record as the chain holds it.</summary>
/// <param name="Number">1, 2, 3 and so on, without gaps.</param>
/// <param name="Sequence">Its place in the log.</param>
/// <param name="Event">The record; it is an <see cref="IRecord"/>.</param>
/// <param name="Hash">Of this record and all before it: SHA-256, 64 hexadecimal digits.</param>
public sealed record RecordEntry(long Number, long Sequence, WashEvent Event, string Hash)
{
    public Act Act => ((IRecord)Event).Act;
}

/// <summary>The end of the chain: who has written this down elsewhere can prove later that nothing up to it was changed, taken out or cut off.</summary>
/// <param name="Number">Number of the last record.</param>
/// <param name="Hash">Its hash, 64 hexadecimal digits in lower case.</param>
public sealed record RecordHead(long Number, string Hash)
{
    private const int HashDigits = 64;

    /// <summary>As it is written down: <c>NUMBER:HASH</c>.</summary>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Number}:{Hash}");

    public static bool TryParse(string? text, [NotNullWhen(true)] out RecordHead? head)
    {
        head = null;
        var parts = text?.Trim().Split(':') ?? [];
        if (parts.Length != 2 || !long.TryParse(parts[0], NumberStyles.None, CultureInfo.InvariantCulture, out var number) || number < 1
            || parts[1].Length != HashDigits || !parts[1].All(char.IsAsciiHexDigit))
        {
            return false;
        }

        head = new RecordHead(number, parts[1].ToLowerInvariant());
        return true;
    }
}
