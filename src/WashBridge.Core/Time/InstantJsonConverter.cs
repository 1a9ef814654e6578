using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Core.Time;

/// <summary>Instants are ISO 8601 text in JSON, so that a stored event can be read without the program.</summary>
public sealed class InstantJsonConverter : JsonConverter<Instant>
{
    public override Instant Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) =>
        Instant.Parse(reader.GetString() ?? throw new JsonException("an instant cannot be null"));

    public override void Write(Utf8JsonWriter writer, Instant value, JsonSerializerOptions options) => writer.WriteStringValue(value.ToString());
}
