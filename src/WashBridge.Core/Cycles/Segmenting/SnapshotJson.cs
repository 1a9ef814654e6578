using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Core.Cycles.Segmenting;

/// <summary>The segmenter's state as JSON: the same state is the same text, to the byte.</summary>
[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull)]
[JsonSerializable(typeof(SegmenterState))]
internal sealed partial class SnapshotJson : JsonSerializerContext
{
    public static string Write(SegmenterState state) => JsonSerializer.Serialize(state, Default.SegmenterState);

    public static SegmenterState Read(string snapshot) =>
        JsonSerializer.Deserialize(snapshot, Default.SegmenterState) ?? throw new JsonException("a snapshot cannot be null");
}
