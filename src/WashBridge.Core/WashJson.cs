using System.Reflection;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Records;

namespace WashBridge.Core;

/// <summary>How events and recipes are written as JSON: compact, camel case, without nulls, fields in a fixed order, so that equal means equal to the byte.</summary>
public static class WashJson
{
    /// <summary>Text stays readable; the output is never pasted into HTML.</summary>
    private static readonly JsonSerializerOptions Options = new()
    {
        PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        TypeInfoResolver = WashJsonContext.Default,
    };

    private static readonly Dictionary<Type, string> KindByType = typeof(WashEvent).GetCustomAttributes<JsonDerivedTypeAttribute>().ToDictionary(a => a.DerivedType, a => (string)a.TypeDiscriminator!);

    /// <summary>Every kind of event.</summary>
    public static IReadOnlyCollection<string> Kinds => KindByType.Values;

    /// <summary>The kinds of events that a person is answerable for.</summary>
    public static IReadOnlyCollection<string> RecordKinds { get; } = [.. KindByType.Where(k => k.Key.IsAssignableTo(typeof(IRecord))).Select(k => k.Value)];

    /// <summary>The kinds of events that are found by keg.</summary>
    public static IReadOnlyCollection<string> KegKinds { get; } = [.. KindByType.Where(k => k.Key.IsAssignableTo(typeof(IAboutKegs))).Select(k => k.Value)];

    /// <summary>How single values are written.</summary>
    internal static JsonSerializerOptions Plain { get; } = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping, TypeInfoResolver = WashJsonContext.Default };

    /// <summary>What an event is, as its JSON says, such as <c>cycle-ended</c>.</summary>
    public static string KindOf(WashEvent washEvent)
    {
        ArgumentNullException.ThrowIfNull(washEvent);
        return KindByType[washEvent.GetType()];
    }

    public static string Write(WashEvent washEvent) => JsonSerializer.Serialize(washEvent, Options);

    public static string Write(Recipe recipe) => JsonSerializer.Serialize(recipe, Options);

    public static WashEvent ReadEvent(string json) =>
        JsonSerializer.Deserialize<WashEvent>(json, Options) ?? throw new JsonException("an event cannot be null");

    public static Recipe ReadRecipe(string json) =>
        JsonSerializer.Deserialize<Recipe>(json, Options) ?? throw new JsonException("a recipe cannot be null");
}

[JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull)]
[JsonSerializable(typeof(WashEvent))]
[JsonSerializable(typeof(Recipe))]
internal sealed partial class WashJsonContext : JsonSerializerContext;
