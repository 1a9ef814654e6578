using Parquet;
using Parquet.Schema;
using WashBridge.Reporting.Documents;

namespace WashBridge.Reporting.Writing;

/// <summary>A row for each figure, typed, numbers unrounded; instants as timestamps to the microsecond, in UTC as the column names say, because readers differ in what they make of a zone. The unit stands beside each number.</summary>
internal static class FigureParquet
{
    public static async Task WriteAsync(Document document, Stream target, CancellationToken cancellation)
    {
        var rows = FigureRows.Of(document).ToList();
        var (row, value, lower, upper) = (new DataField<int>("row"), new DataField<double?>("value"), new DataField<double?>("lower"), new DataField<double?>("upper"));
        var (earliest, latest) = (Instants("earliest_utc"), Instants("latest_utc"));
        (DataField<string> Field, Func<FigureRow, string?> Of)[] texts =
        [
            (Text("report"), r => r.Report), (Text("part"), r => r.Part), (Text("name"), r => r.Name), (Text("figure"), r => r.Figure), (Text("kind"), r => r.Kind), (Text("text"), r => r.Text),
            (Text("unit"), r => r.Unit), (Text("sources"), r => r.Sources),
        ];
        var schema = new ParquetSchema(
            texts[0].Field, texts[1].Field, row, texts[2].Field, texts[3].Field, texts[4].Field, texts[5].Field, value, lower, upper, texts[6].Field, earliest, latest, texts[7].Field);

        // The library seeks back: a stream that cannot is served from memory.
        using var buffer = new MemoryStream();
        await using (var writer = await ParquetWriter.CreateAsync(schema, buffer, cancellationToken: cancellation))
        {
            writer.CustomMetadata = new Dictionary<string, string>
            {
                ["title"] = document.Title,
                ["site"] = document.Basis.Site,
                ["zone"] = document.Basis.Zone.Id,
                ["program"] = document.Basis.Program,
                ["last-sequence"] = FormattableString.Invariant($"{document.Basis.LastSequence}"),
            };
            using var group = writer.CreateRowGroup();
            foreach (var field in schema.DataFields)
            {
                if (texts.FirstOrDefault(t => t.Field == field) is { Field: not null } text)
                {
                    await group.WriteAsync(field, rows.ConvertAll(r => text.Of(r))!);
                }
                else if (field == row)
                {
                    await group.WriteAsync<int>(field, rows.ConvertAll(r => r.Row).ToArray(), cancellationToken: cancellation);
                }
                else if (field == earliest || field == latest)
                {
                    await group.WriteAsync<DateTime>(field, rows.ConvertAll(r => (field == earliest ? r.Earliest : r.Latest)?.ToDateTimeOffset().UtcDateTime).ToArray(), cancellationToken: cancellation);
                }
                else
                {
                    await group.WriteAsync<double>(field, rows.ConvertAll(r => field == value ? r.Value : field == lower ? r.Lower : r.Upper).ToArray(), cancellationToken: cancellation);
                }
            }

            group.CompleteValidate();
        }

        buffer.Position = 0;
        await buffer.CopyToAsync(target, cancellation);
    }

    private static DataField<string> Text(string name) => new(name, true);

    private static DateTimeDataField Instants(string name) => new(name, DateTimeFormat.DateAndTimeMicros, isAdjustedToUTC: true, isNullable: true);
}
