using System.Text.Json;

namespace WashBridge.Messaging;

/// <summary>
/// Whether the host that data is for is online (Sparkplug 3.0.0, 5.4 and 5.5: its STATE message is retained JSON with <c>online</c> and <c>timestamp</c>).
/// A message older than the last one counts for nothing. Used by one caller at a time.
/// </summary>
internal sealed class PrimaryHost
{
    private long _last = long.MinValue;

    public bool IsOnline { get; private set; }

    /// <summary>Nothing is known of it on a new connection; what it said before still says which messages are too old.</summary>
    public void BeginAnew() => IsOnline = false;

    /// <summary>False: it is no STATE message, or one that is too old.</summary>
    public bool Take(ReadOnlyMemory<byte> message)
    {
        try
        {
            using var json = JsonDocument.Parse(message);
            if (json.RootElement is not { ValueKind: JsonValueKind.Object } state
                || !state.TryGetProperty("online", out var online) || online.ValueKind is not (JsonValueKind.True or JsonValueKind.False)
                || !state.TryGetProperty("timestamp", out var at) || at.ValueKind != JsonValueKind.Number || !at.TryGetInt64(out var timestamp)
                || timestamp < _last)
            {
                return false;
            }

            (IsOnline, _last) = (online.GetBoolean(), timestamp);
            return true;
        }
        catch (JsonException)
        {
            return false;
        }
    }
}
