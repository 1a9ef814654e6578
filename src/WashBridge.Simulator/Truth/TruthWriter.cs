using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;

namespace WashBridge.Simulator.Truth;

/// <summary>
/// Writes every cycle that ends as one line of JSON: what really happened, with each time as seconds of virtual time (<c>t</c>) and as wall
/// time (<c>at</c>). A line is complete on disk before the next begins.
/// </summary>
public sealed class TruthWriter : IDisposable
{
    private readonly Lock _gate = new();
    private readonly StreamWriter _file;
    private readonly JsonSerializerOptions _options;
    private readonly List<SimulatedWasher> _washers = [];

    /// <param name="path">Replaced if it exists.</param>
    /// <param name="start">The wall time at virtual time zero.</param>
    public TruthWriter(string path, DateTimeOffset start)
    {
        _file = new StreamWriter(path, append: false) { AutoFlush = true, NewLine = "\n" };
        _options = new JsonSerializerOptions
        {
            PropertyNamingPolicy = JsonNamingPolicy.CamelCase,
            DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
            Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
            Converters = { new VirtualTimeConverter(start) },
        };
    }

    public void Follow(SimulatedWasher washer)
    {
        ArgumentNullException.ThrowIfNull(washer);
        _washers.Add(washer);
        washer.CycleFinished += Write;
    }

    public void Dispose()
    {
        foreach (var washer in _washers)
        {
            washer.CycleFinished -= Write;
        }

        lock (_gate)
        {
            _file.Dispose();
        }
    }

    private void Write(TrueCycle cycle)
    {
        lock (_gate)
        {
            _file.WriteLine(JsonSerializer.Serialize(cycle, _options));
        }
    }

    private sealed class VirtualTimeConverter(DateTimeOffset start) : JsonConverter<TimeSpan>
    {
        public override TimeSpan Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => throw new NotSupportedException("the truth is only written");

        public override void Write(Utf8JsonWriter writer, TimeSpan value, JsonSerializerOptions options)
        {
            writer.WriteStartObject();
            writer.WriteNumber("t", (decimal)value.Ticks / TimeSpan.TicksPerSecond);
            writer.WriteString("at", Core.Time.Instant.Floor(start + value).ToString());
            writer.WriteEndObject();
        }
    }
}

/// <summary>A duration as plain seconds.</summary>
internal sealed class SecondsConverter : JsonConverter<TimeSpan>
{
    public override TimeSpan Read(ref Utf8JsonReader reader, Type typeToConvert, JsonSerializerOptions options) => TimeSpan.FromTicks((long)(reader.GetDecimal() * TimeSpan.TicksPerSecond));

    public override void Write(Utf8JsonWriter writer, TimeSpan value, JsonSerializerOptions options) => writer.WriteNumberValue((decimal)value.Ticks / TimeSpan.TicksPerSecond);
}
