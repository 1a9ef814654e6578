using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Core.Features;

/// <summary>
/// Figures as one object, a year of which must not fill a disk: <c>{"drain-time/rinse/1@2":[8.4,0.05],"kegs":[2,0]}</c>, each with its value and its standard uncertainty, in the order of the list.
/// Numbers are the shortest that read back as the same.
/// </summary>
public sealed class FiguresJsonConverter : JsonConverter<IReadOnlyList<Feature>>
{
    public override IReadOnlyList<Feature> Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options)
    {
        Expect(reader.TokenType, JsonTokenType.StartObject);
        var figures = new List<Feature>();
        while (reader.Read() && reader.TokenType != JsonTokenType.EndObject)
        {
            var (name, station) = Split(reader.GetString()!);
            Expect(Next(ref reader), JsonTokenType.StartArray);
            var value = Number(ref reader);
            var uncertainty = Number(ref reader);
            Expect(Next(ref reader), JsonTokenType.EndArray);
            figures.Add(new Feature(name, station, value, uncertainty));
        }

        return figures;
    }

    public override void Write(Utf8JsonWriter writer, IReadOnlyList<Feature> value, JsonSerializerOptions options)
    {
        writer.WriteStartObject();
        for (var i = 0; i < value.Count; i++)
        {
            var figure = value[i];
            writer.WritePropertyName(figure.Key);
            writer.WriteStartArray();
            writer.WriteNumberValue(figure.Value);
            writer.WriteNumberValue(figure.Uncertainty);
            writer.WriteEndArray();
        }

        writer.WriteEndObject();
    }

    private static (string Name, int Station) Split(string key)
    {
        var at = key.LastIndexOf('@');
        if (at < 0)
        {
            return (key, 0);
        }

        return int.TryParse(key.AsSpan(at + 1), NumberStyles.None, CultureInfo.InvariantCulture, out var station) && station is >= 1 and <= 8
            ? (key[..at], station)
            : throw new JsonException($"the figure \"{key}\" names no station from 1 to 8 after its @");
    }

    private static double Number(ref Utf8JsonReader reader)
    {
        Expect(Next(ref reader), JsonTokenType.Number);
        return reader.GetDouble();
    }

    private static JsonTokenType Next(ref Utf8JsonReader reader) => reader.Read() ? reader.TokenType : throw new JsonException("the figures end in the middle");

    private static void Expect(JsonTokenType found, JsonTokenType expected)
    {
        if (found != expected)
        {
            throw new JsonException($"figures are written as {{\"name@station\":[value,uncertainty]}}: {expected} is expected, {found} was found");
        }
    }
}
