using System.Text.Json;
using System.Text.Json.Nodes;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian;

namespace WashBridge.Orders;

/// <summary>Corrections of records.</summary>
internal static partial class Telling
{
    private const int CorrectionsRead = 1000;

    /// <exception cref="TellingException">It cannot be taken.</exception>
    public static RecordCorrected Correction(ToldCorrection told, IHistorianReader historian, DateTimeOffset now, Teller? teller = null)
    {
        var record = Record(told.Number, historian);
        var kind = WashJson.KindOf(record.Event);
        if (!Corrections.Fields.TryGetValue(kind, out var fields))
        {
            throw new TellingException($"number: record {record.Number} is of the kind {kind}, of which nothing can be corrected; allowed: {string.Join(", ", Corrections.Fields.Keys)}. Tell what is right as a further record");
        }

        var field = fields[TellingChecks.OneOf("field", told.Field, fields)];
        var act = TellingChecks.Act(told.By, told.Reason, now, teller, "a correction needs its reason");
        if (act.By != record.Act.By)
        {
            teller?.Require(Role.Qa, "correcting what somebody else recorded");
        }

        var earlier = Earlier(historian, record.Number);
        var before = Corrections.Apply(record.Event, earlier);
        var (oldValue, newValue) = (Corrections.Value(before, field), told.Value is null ? null : Written(record.Event, field, told.Value));
        if (oldValue == newValue)
        {
            throw new TellingException($"value: found {newValue ?? "nothing"}, which {field} of record {record.Number} says already", isConflict: true);
        }

        var at = TellingChecks.Now(now);
        var made = new RecordCorrected
        {
            Id = $"{(record.Event.Washer == WashEvent.WholeSite ? "site" : record.Event.Washer)}/correction/{record.Number}/{field}/{at.Latest}",
            Washer = record.Event.Washer,
            At = at,
            CycleId = record.Event.CycleId,
            Act = act,
            Number = record.Number,
            Of = kind,
            Field = field,
            OldValue = oldValue,
            NewValue = newValue,
        };
        return made with { KegIds = [.. KegsOf(record.Event).Concat(KegsOf(before)).Concat(KegsOf(After(record.Event, [.. earlier, made]))).Distinct(StringComparer.Ordinal)] };
    }

    private static RecordEntry Record(long? number, IHistorianReader historian) =>
        (number is > 0 and { } wanted ? historian.ReadRecords(wanted - 1, 1).FirstOrDefault(r => r.Number == wanted) : null)
            ?? throw new TellingException($"number: found {(number is { } asked ? asked : "nothing")}; allowed: {(historian.RecordHead is { } head ? $"1 to {head.Number}" : "none, there is no record yet")}");

    private static List<RecordCorrected> Earlier(IHistorianReader historian, long number)
    {
        var found = new List<RecordCorrected>();
        for (var after = 0L; historian.ReadEventLog(after, CorrectionsRead, ["record-corrected"]) is { Count: > 0 } page; after = page[^1].Sequence)
        {
            found.AddRange(page.Select(e => e.Event).OfType<RecordCorrected>().Where(c => c.Number == number));
        }

        return found;
    }

    /// <summary>The value as JSON, of the same type as the field has.</summary>
    private static string Written(WashEvent record, string field, string value)
    {
        JsonNode? node = field switch
        {
            "passed" => TellingChecks.OneOf("value", value, ["true", "false"]) == 0,
            "strength" or "value" => double.TryParse(value, System.Globalization.NumberStyles.Float, System.Globalization.CultureInfo.InvariantCulture, out var number) && double.IsFinite(number)
                ? number
                : throw new TellingException($"value: found {TellingChecks.Found(value)}; allowed: a number"),
            "bath" => Baths[TellingChecks.OneOf("value", value, Baths)],
            "unit" when record is TitrationRecorded => TellingChecks.OneOf("value", value, [.. Strengths.Select(s => s.Unit)]) is var at ? Strengths[at].Unit : null,
            "kegId" or "by" or "lot" or "unit" => TellingChecks.Text("value", value, TellingChecks.LongestName, $"{field} is needed"),
            _ => TellingChecks.Text("value", value, TellingChecks.LongestNote, "it is one line"),
        };
        return JsonNode.Parse(node!.ToJsonString())!.ToJsonString(Corrections.Writing);
    }

    /// <exception cref="TellingException">The field cannot be without a value.</exception>
    private static WashEvent After(WashEvent record, IReadOnlyList<RecordCorrected> corrections)
    {
        try
        {
            return Corrections.Apply(record, corrections);
        }
        catch (JsonException)
        {
            throw new TellingException($"value: found nothing; {corrections[^1].Field} cannot be without a value");
        }
    }

    private static IReadOnlyList<string> KegsOf(WashEvent washEvent) => washEvent is IAboutKegs about ? about.Kegs : [];
}
