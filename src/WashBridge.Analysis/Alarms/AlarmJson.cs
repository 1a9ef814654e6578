using System.Text.Json.Serialization;

namespace WashBridge.Analysis.Alarms;

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull)]
[JsonSerializable(typeof(AlarmWatchState))]
internal sealed partial class AlarmJson : JsonSerializerContext;
