using System.Text.Json;

namespace WashBridge.Historian.Storage;

/// <summary>What an event is, as its JSON says.</summary>
internal static class EventKind
{
    /// <summary>The discriminator of the event's JSON.</summary>
    public static string Of(string json)
    {
        using var document = JsonDocument.Parse(json);
        return document.RootElement.GetProperty("kind").GetString() ?? "";
    }
}
