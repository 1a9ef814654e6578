using System.Security.Cryptography.X509Certificates;
using WashBridge.Analysis.Alarms;
using WashBridge.Analysis.Upkeep;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;

namespace WashBridge.Configuration;

/// <summary>A checked configuration: everything the program needs to run, with all files merged and all names resolved.</summary>
internal sealed record Site
{
    /// <summary>Lower-case letters, digits and hyphens.</summary>
    public required string Id { get; init; }

    public required string Title { get; init; }

    /// <summary>IANA zone name in which people read times.</summary>
    public required TimeZoneInfo Zone { get; init; }

    public required IReadOnlyList<WasherConfiguration> Washers { get; init; }

    /// <summary>The recipes of all washers' files, each version once.</summary>
    public IEnumerable<Recipe> Recipes => Washers.SelectMany(w => w.Recipes).DistinctBy(r => (r.Id, r.Version));

    public required StoreConfiguration Store { get; init; }

    public TelemetryConfiguration Telemetry { get; init; } = new();

    public LoggingConfiguration Logging { get; init; } = new();

    public IReadOnlyList<InfluxConfiguration> Influx { get; init; } = [];

    public IReadOnlyList<MqttConfiguration> Mqtt { get; init; } = [];

    /// <summary>Where pages are served and scans are taken; null: nowhere.</summary>
    public HttpConfiguration? Http { get; init; }

    /// <summary>Null: this bridge is alone.</summary>
    public PairConfiguration? Pair { get; init; }

    public required OpcUaConfiguration OpcUa { get; init; }

    /// <summary>When the site washes, in its zone.</summary>
    public ShiftPattern Shifts { get; init; } = ShiftPattern.Always;

    /// <summary>What is allowed but should be known: the check and the log show it.</summary>
    public IReadOnlyList<Problem> Warnings { get; init; } = [];
}

internal sealed record WasherConfiguration
{
    public required WasherModel Model { get; init; }

    public string Title { get; init; } = "";

    public required ControllerConnection Connection { get; init; }

    /// <summary>By number, from 0. Group 0 holds the sequence signals.</summary>
    public required IReadOnlyList<PollGroup> Groups { get; init; }

    public required IReadOnlyList<Tag> Tags { get; init; }

    /// <summary>The recipe for cycles whose programme number is not named in <see cref="RecipesByProgramme"/>.</summary>
    public required Recipe Recipe { get; init; }

    public IReadOnlyDictionary<int, Recipe> RecipesByProgramme { get; init; } = new Dictionary<int, Recipe>();

    public AnalysisConfiguration Analysis { get; init; } = new();

    /// <summary>All that its file names, each once.</summary>
    public IEnumerable<Recipe> Recipes => RecipesByProgramme.Values.Prepend(Recipe).DistinctBy(r => (r.Id, r.Version));

    public Recipe RecipeFor(int? programme) => programme is { } number && RecipesByProgramme.TryGetValue(number, out var recipe) ? recipe : Recipe;
}

/// <summary>What the analysis of a washer is told by the site.</summary>
internal sealed record AnalysisConfiguration
{
    /// <summary>One false alarm of all the washer's charts in so many cycles.</summary>
    public double FalseAlarmEvery { get; init; } = 10_000;

    /// <summary>Also tell lasting changes within what a sensor may be off by.</summary>
    public bool TellSmallChanges { get; init; }

    /// <summary>By index: where it counts as failed, in the index's unit.</summary>
    public IReadOnlyDictionary<string, double> Limits { get; init; } = new Dictionary<string, double>();

    public AlarmSettings Alarms { get; init; } = new();
}

/// <summary>Signals that are read together.</summary>
/// <param name="Number">0 to 255.</param>
/// <param name="Name">For people.</param>
/// <param name="Every">Poll interval, or by OPC UA the sampling and publishing interval to ask for: 20 ms to 1 h.</param>
/// <param name="Heartbeat">A full frame at least this often, 1 s to 1 h.</param>
internal sealed record PollGroup(int Number, string Name, TimeSpan Every, TimeSpan Heartbeat);

/// <summary>One value of a controller as a signal: value = raw x scale + offset.</summary>
internal sealed record Tag
{
    public required Signal Signal { get; init; }

    public required int Group { get; init; }

    /// <summary>Of the kind that the washer's connection reads.</summary>
    public required TagSource Source { get; init; }

    public double Scale { get; init; } = 1;

    public double Offset { get; init; }

    /// <summary>For flags: 0 means set.</summary>
    public bool Invert { get; init; }

    /// <summary>A change of at most this much, in the signal's unit, is not recorded. 0: every change is.</summary>
    public double DeadBand { get; init; }

    /// <summary>Values outside are of uncertain quality; null: no limit.</summary>
    public double? Minimum { get; init; }

    public double? Maximum { get; init; }
}

internal sealed record StoreConfiguration
{
    public required string Path { get; init; }

    /// <summary>Raw samples older than this are dropped; null: kept.</summary>
    public TimeSpan? Retention { get; init; }
}

internal sealed record InfluxConfiguration
{
    /// <summary>Names the cursor: lower-case letters, digits and hyphens.</summary>
    public required string Id { get; init; }

    public required Uri Url { get; init; }

    /// <summary>1: the native write address of 1.x servers; 2: that of 2.x and 3.x.</summary>
    public required int Api { get; init; }

    /// <summary>Database (1.x) or bucket (2.x).</summary>
    public required string Bucket { get; init; }

    public string? Organisation { get; init; }

    public string? RetentionPolicy { get; init; }

    public string? User { get; init; }

    /// <summary>Password (1.x) or token (2.x), already read from its environment variable or file.</summary>
    public string? Secret { get; init; }

    /// <summary>Also forward samples, not only events.</summary>
    public bool Samples { get; init; }
}

/// <summary>An MQTT broker, and who we are to it.</summary>
internal sealed record MqttConfiguration
{
    /// <summary>Names the cursor: lower-case letters, digits and hyphens.</summary>
    public required string Id { get; init; }

    public required string Host { get; init; }

    public required int Port { get; init; }

    public bool Tls { get; init; }

    /// <summary>Who may vouch for the broker's certificate; none: the authorities that the machine trusts.</summary>
    public IReadOnlyList<X509Certificate2> Authorities { get; init; } = [];

    /// <summary>Ours, with its key, and what leads from it to a root; none: we show none.</summary>
    public IReadOnlyList<X509Certificate2> Certificate { get; init; } = [];

    public string? User { get; init; }

    /// <summary>The user's password, already read from its environment variable or file.</summary>
    public string? Secret { get; init; }

    /// <summary>Sparkplug group id.</summary>
    public required string Group { get; init; }

    /// <summary>Sparkplug edge node id.</summary>
    public required string EdgeNode { get; init; }

    /// <summary>Host id: data is held while it is not online. Null: nobody is waited for.</summary>
    public string? PrimaryHost { get; init; }

    /// <summary>Also keep a plain JSON message of each washer at the broker.</summary>
    public bool StateTopics { get; init; }

    /// <summary>For people.</summary>
    public string Address => $"{(Tls ? "mqtts" : "mqtt")}://{(Host.Contains(':', StringComparison.Ordinal) ? $"[{Host}]" : Host)}:{Port}";
}
