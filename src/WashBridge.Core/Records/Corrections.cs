using System.Text.Json;
using System.Text.Json.Nodes;
using WashBridge.Core.Cycles;

namespace WashBridge.Core.Records;

/// <summary>Puts corrections to the records that they correct, beside what was told.</summary>
public static class Corrections
{
    /// <summary>
    /// The fields that can be corrected, by kind. What a record does cannot: a decision is followed by another decision, an order by another order, work on a
    /// component by what was really done.
    /// </summary>
    public static IReadOnlyDictionary<string, IReadOnlyList<string>> Fields { get; } = new Dictionary<string, IReadOnlyList<string>>(StringComparer.Ordinal)
    {
        ["keg-scanned"] = ["kegId"],
        ["maintenance-recorded"] = ["by", "note"],
        ["titration-recorded"] = ["bath", "strength", "unit", "method"],
        ["keg-inspected"] = ["kegId", "lot", "passed", "found", "value", "unit"],
        ["lot-sampled"] = ["lot"],
    };

    /// <summary>How values are written as JSON.</summary>
    public static JsonSerializerOptions Writing => WashJson.Plain;

    /// <summary>Each entry with what corrections among the entries make of it.</summary>
    public static IReadOnlyList<KegEntry> Applied(IReadOnlyList<KegEntry> entries)
    {
        var byNumber = entries.Where(e => e.Event is RecordCorrected).ToLookup(e => ((RecordCorrected)e.Event).Number, e => (RecordCorrected)e.Event);
        return byNumber.Count == 0 ? entries : [.. entries.Select(e => e.Number is { } number && byNumber.Contains(number) ? e with { Corrected = TryApply(e.Event, byNumber[number]) } : e)];
    }

    /// <summary>As <see cref="Apply"/>; null where a correction that was not told here makes no sense: the record then holds as it was told.</summary>
    public static WashEvent? TryApply(WashEvent record, IEnumerable<RecordCorrected> corrections)
    {
        try
        {
            return Apply(record, corrections);
        }
        catch (JsonException)
        {
            return null;
        }
    }

    /// <summary>The record as corrected, in order.</summary>
    /// <exception cref="JsonException">A value does not fit its field; none that was checked when it was told does.</exception>
    public static WashEvent Apply(WashEvent record, IEnumerable<RecordCorrected> corrections)
    {
        var json = JsonNode.Parse(WashJson.Write(record))!.AsObject();
        foreach (var each in corrections)
        {
            if (each.NewValue is null)
            {
                json.Remove(each.Field);
            }
            else
            {
                json[each.Field] = JsonNode.Parse(each.NewValue);
            }
        }

        return WashJson.ReadEvent(json.ToJsonString());
    }

    /// <summary>A field of a record as JSON; null where it is not set.</summary>
    public static string? Value(WashEvent record, string field) => JsonNode.Parse(WashJson.Write(record))!.AsObject()[field]?.ToJsonString(WashJson.Plain);
}
