using System.Text.Json.Nodes;
using WashBridge.Analysis.Upkeep.Health;
using WashBridge.Configuration;
using WashBridge.Configuration.Binding;
using WashBridge.Configuration.Yaml;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Records;
using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Tests.Configuration;

/// <summary>The published schemas say the same as the loader.</summary>
public sealed class SchemaAgreementTests
{
    public static TheoryData<string> ShippedFiles => [.. Files("config/demo").Concat(Files("config/example")).Concat(Files("tests/WashBridge.Tests/Configuration/Good")).Concat(Files("tests/WashBridge.Tests/Configuration/GoodOpcUa"))];

    public static TheoryData<string> ShippedSites => ["config/demo/site.yaml", "config/example/site.yaml"];

    [Theory]
    [MemberData(nameof(ShippedFiles))]
    public void Every_shipped_file_names_its_schema_and_the_schema_accepts_it(string file)
    {
        var path = Path.Combine(Repository.Root, file);
        var problems = new ProblemList();
        var root = YamlReader.Read(file, File.ReadAllText(path), problems);
        Assert.Equal(0, problems.Count);
        var name = Schemas.NameFor(Path.Combine(Path.GetFileName(Path.GetDirectoryName(file))!, Path.GetFileName(file)));
        var results = Schemas.Evaluate(name, root!);
        Assert.True(results.IsValid, string.Join('\n', (results.Details ?? []).Where(d => d.Errors is { Count: > 0 }).Select(d => $"{d.InstanceLocation}: {string.Join(", ", d.Errors!.Values)}")));

        const string comment = "# yaml-language-server: $schema=";
        var first = File.ReadLines(path).First();
        Assert.StartsWith(comment, first, StringComparison.Ordinal);
        Assert.Equal(Schemas.FileOf(name), Path.GetFullPath(Path.Combine(Path.GetDirectoryName(path)!, first[comment.Length..])));
    }

    [Theory]
    [MemberData(nameof(ShippedSites))]
    public void Every_shipped_site_loads_without_problems(string site) => Assert.Empty(ConfigurationLoader.Load(Path.Combine(Repository.Root, site)).Problems);

    [Fact]
    public void Choices_of_the_schemas_are_those_of_the_code()
    {
        var washer = Schemas.Text("washer");
        Assert.Equal(Names.Of<PhaseKind>(), Choices(washer, "properties/programme/items/properties/kind"));
        Assert.Equal(Names.Of<StepKind>(), Choices(washer, "properties/programme/items/properties/steps/items"));
        Assert.Equal(Names.Of<StepKind>(), Choices(washer, "properties/sequence/properties/step-table/items/properties/step"));
        Assert.Equal(SignalCatalogue.All.Where(d => d.Type == SignalType.Flag).Select(d => d.Name), Choices(washer, "properties/sequence/properties/step-rules/items/properties/when/propertyNames"));
        var tag = At(Schemas.Text("tag-map"), "$defs/modbus-map/properties/tags/items");
        Assert.Equal(Names.Of<ModbusTable>(), Choices(tag, "properties/table"));
        Assert.Equal(Names.Of<RegisterType>(), Choices(tag, "properties/type"));
        Assert.Equal(Names.Of<WordOrder>(), Choices(tag, "properties/word-order"));
        Assert.Equal(Names.Of<ByteOrder>(), Choices(tag, "properties/byte-order"));
        Assert.Equal(SignalCatalogue.All.Select(d => d.Name).Where(n => !n.EndsWith('*')), Choices(Schemas.Text("tag-map"), "$defs/signal/anyOf/0"));
        Assert.Equal(SecurityNames.Policies, Choices(washer, "$defs/opc-ua/properties/security-policy"));
        Assert.Equal(SecurityNames.Modes, Choices(washer, "$defs/opc-ua/properties/security-mode"));
        Assert.Equal(OpcUaConnectionBinder.AllowedExceptions, Choices(washer, "$defs/opc-ua/properties/allow/items"));
        Assert.Equal(Names.Of<DayOfWeek>(), Choices(Schemas.Text("site"), "properties/shifts/items/properties/days/items"));
        var server = At(Schemas.Text("site"), "properties/opc-ua/properties/server/properties");
        Assert.Equal(SecurityNames.Policies, Choices(server, "security-policies/items"));
        Assert.Equal(SecurityNames.Modes.Skip(1), Choices(server, "security-modes/items"));
        var http = At(Schemas.Text("site"), "properties/http/properties");
        Assert.Equal(Names.Of<LoginRule>(), Choices(http, "login"));
        Assert.Equal(Names.Of<Role>(), Choices(At(Schemas.Text("site"), "$defs/open-id-connect/properties"), "roles/items/properties/role"));
        var recipe = Schemas.Text("recipe");
        Assert.Equal(Names.Of<DecisionMethod>(), Choices(recipe, "properties/decision/properties/method"));
        Assert.Equal(RequirementBinder.Types, At(recipe, "$defs").AsObject().Select(d => d.Key));
        Assert.Equal(Names.Of<DoseMethod>(), Choices(recipe, "$defs/thermal-dose/properties/method"));
        Assert.Equal(Names.Of<EdgeSide>(), Choices(recipe, "$defs/contact-time/properties/from/properties/edge"));
        Assert.Equal(Quantities(_ => true), Choices(recipe, "$defs/time-beyond/properties/signal/anyOf/0"));
        Assert.Equal(Quantities(d => d.Unit == "Cel"), Choices(recipe, "$defs/thermal-dose/properties/signal/anyOf/0"));
    }

    /// <summary>Whole numbers: the last allowed value on each side is taken, the next is refused, by schema and loader alike.</summary>
    [Theory]
    [InlineData("washers/w1.yaml", "stations: 2", "stations: ", "washer", "properties/stations", false)]
    [InlineData("washers/w1.yaml", "port: 1502", "port: ", "washer", "$defs/modbus/properties/port", true)]
    [InlineData("washers/w1.yaml", "unit: 1\n", "unit: ", "washer", "$defs/modbus/properties/unit", true)]
    [InlineData("washers/w1.yaml", "requests-in-flight: 2", "requests-in-flight: ", "washer", "$defs/modbus/properties/requests-in-flight", true)]
    [InlineData("washers/w1.yaml", "gap-allowance: 4", "gap-allowance: ", "washer", "$defs/modbus/properties/gap-allowance", true)]
    [InlineData("washers/w1.yaml", "max-registers: 60", "max-registers: ", "washer", "$defs/modbus/properties/max-registers", false)]
    [InlineData("washers/w1.yaml", "max-bits: 500", "max-bits: ", "washer", "$defs/modbus/properties/max-bits", true)]
    [InlineData("washers/w1.yaml", "pass: 1", "pass: ", "washer", "properties/sequence/properties/step-table/items/properties/pass", true)]
    [InlineData("washers/w1.yaml", "{programme: 2", "{programme: ", "washer", "properties/recipes-by-programme/items/properties/programme", true)]
    [InlineData("washers/w2.yaml", "type: bit, bit: 15", "type: bit, bit: ", "tag-map", "$defs/modbus-map/properties/tags/items/properties/bit", true)]
    [InlineData("tag-maps/codes.yaml", "length: 12", "length: ", "tag-map", "$defs/modbus-map/properties/tags/items/properties/length", false)]
    [InlineData("site.yaml", "port: 8480", "port: ", "site", "properties/http/properties/port", true)]
    [InlineData("washers/w1.yaml", "false-alarm-every: 5000", "false-alarm-every: ", "washer", "properties/analysis/properties/false-alarm-every", true)]
    [InlineData("washers/w1.yaml", "warn-before: 200", "warn-before: ", "washer", "properties/analysis/properties/warn-before", true)]
    [InlineData("washers/w1.yaml", "not-met-in-a-row: 2", "not-met-in-a-row: ", "washer", "properties/analysis/properties/not-met-in-a-row", true)]
    [InlineData("recipes/standard.yaml", "version: 3", "version: ", "recipe", "properties/version", true)]
    [InlineData("recipes/standard.yaml", "phase: rinse\n    at-least: 2", "phase: rinse\n    at-least: ", "recipe", "$defs/pass-count/properties/at-least", true)]
    [InlineData("tag-maps/nodes.yaml", "index: 0", "index: ", "tag-map", "$defs/opc-ua-map/properties/tags/items/properties/index", true)]
    [InlineData("tag-maps/nodes.yaml", "bit: 5", "bit: ", "tag-map", "$defs/opc-ua-map/properties/tags/items/properties/bit", true)]
    [InlineData("tag-maps/nodes.yaml", "queue: 50", "queue: ", "tag-map", "$defs/opc-ua-map/properties/tags/items/properties/queue", true)]
    [InlineData("site.yaml", "shortest-password: 14", "shortest-password: ", "site", "properties/http/properties/shortest-password", true)]
    [InlineData("site.yaml", "approvals: 2", "approvals: ", "site", "properties/http/properties/approvals", true)]
    [InlineData("site.yaml", "port: 4841", "port: ", "site", "properties/opc-ua/properties/server/properties/port", true)]
    public void Ranges_of_the_schemas_are_those_of_the_loader(string file, string text, string key, string schema, string path, bool endsFit)
    {
        var property = At(Schemas.Text(schema), path);
        var (least, most) = (property["minimum"]!.GetValue<int>(), property["maximum"]!.GetValue<int>());
        var end = text.EndsWith('\n') ? "\n" : "";
        foreach (var (value, allowed) in new[] { (least - 1, false), (least, true), (most, true), (most + 1, false) })
        {
            using var fixture = new ConfigurationFixture(path.Contains("opc-ua", StringComparison.Ordinal) ? "GoodOpcUa" : "Good");
            fixture.Replace(file, text, $"{key}{value}{end}");
            var isRefused = fixture.Problems().Any(p => p.Contains($"found {value}; allowed: a whole number from {least} to {most}", StringComparison.Ordinal));
            Assert.Equal(!allowed, isRefused);
            Assert.Equal(allowed, Schemas.Accepts(fixture.Folder, file));
            if (allowed && endsFit)
            {
                Assert.Empty(fixture.Problems());
            }
        }
    }

    /// <summary>Durations: the range stands in the schema's description, which is what people read.</summary>
    [Theory]
    [InlineData("site.yaml", "keep-samples: 400 d", "site", "properties/store/properties/keep-samples")]
    [InlineData("washers/w1.yaml", "timeout: 500 ms", "washer", "$defs/modbus/properties/timeout")]
    [InlineData("washers/w1.yaml", "every: 250 ms", "washer", "properties/poll-groups/items/properties/every")]
    [InlineData("washers/w1.yaml", "heartbeat: 30 s", "washer", "properties/poll-groups/items/properties/heartbeat")]
    [InlineData("washers/w1.yaml", "gap-limit: 2 s", "washer", "properties/gap-limit")]
    [InlineData("washers/w1.yaml", "shortest-cycle: 2 min", "washer", "properties/shortest-cycle")]
    [InlineData("washers/w1.yaml", "drain-timeout: 40 s", "washer", "properties/drain-timeout")]
    [InlineData("washers/w1.yaml", "not-readable-after: 90 s", "washer", "properties/analysis/properties/not-readable-after")]
    [InlineData("site.yaml", "length: 8 h", "site", "properties/shifts/items/properties/length")]
    [InlineData("site.yaml", "idle: 40 min", "site", "properties/http/properties/session/properties/idle")]
    [InlineData("site.yaml", "longest: 10 h", "site", "properties/http/properties/session/properties/longest")]
    [InlineData("site.yaml", "every: 15 s", "site", "properties/telemetry/properties/otlp/properties/every")]
    [InlineData("recipes/standard.yaml", "at-most: 25 s", "recipe", "$defs/drain-limit/properties/at-most")]
    [InlineData("recipes/standard.yaml", "at-least: 45 s", "recipe", "$defs/step-time/properties/at-least")]
    [InlineData("recipes/standard.yaml", "at-least: 600 s", "recipe", "$defs/thermal-dose/properties/at-least")]
    [InlineData("washers/w3.yaml", "timeout: 2 s\n", "washer", "$defs/opc-ua/properties/timeout")]
    [InlineData("washers/w3.yaml", "session-timeout: 30 s", "washer", "$defs/opc-ua/properties/session-timeout")]
    public void Durations_have_the_range_that_the_schema_states(string file, string text, string schema, string path)
    {
        var description = At(Schemas.Text(schema), path)["description"]!.GetValue<string>();
        var match = System.Text.RegularExpressions.Regex.Match(description, @" From (\S+ \S+) to (\S+ \S+)\.\z");
        var (least, most) = (Amounts.ParseDuration(match.Groups[1].Value)!.Value, Amounts.ParseDuration(match.Groups[2].Value)!.Value);
        foreach (var (value, allowed) in new[] { (least - TimeSpan.FromMilliseconds(1), false), (least, true), (most, true), (most + TimeSpan.FromMilliseconds(1), false) })
        {
            using var fixture = new ConfigurationFixture(path.Contains("opc-ua", StringComparison.Ordinal) ? "GoodOpcUa" : "Good");
            fixture.Replace(file, text, $"{text.Split(':')[0]}: {Amounts.Write(value)}{(text.EndsWith('\n') ? "\n" : "")}");
            Assert.Equal(!allowed, fixture.Problems().Any(p => p.Contains("this duration is out of range", StringComparison.Ordinal)));
        }
    }

    /// <summary>Every index that the analysis has may be given a limit, in all the ways in which one is named, and nothing else: the schema's list is that of the code.</summary>
    [Fact]
    public void Indices_of_the_schema_are_those_of_the_analysis()
    {
        var form = new System.Text.RegularExpressions.Regex(At(Schemas.Text("washer"), "properties/analysis/properties/limits/items/properties/index")["pattern"]!.GetValue<string>());
        string[] ways = ["", "@1", "@2", "@8", "@9", "/caustic", "/acid", "/sanitiser", "/rinse", "/caustic@1"];
        foreach (var index in HealthIndex.All.Select(i => i.Name).Append("heat-up-rate"))
        {
            foreach (var name in ways.Select(w => index + w))
            {
                Assert.True(form.IsMatch(name) == IndexNames.Allowed(8).Contains(name), name);
            }

            Assert.Equal(index != "heat-up-rate", form.IsMatch(index));
        }
    }

    [Fact]
    public void Defaults_of_the_schemas_are_those_of_the_code()
    {
        var washer = Schemas.Text("washer");
        var connection = new ModbusConnection { Host = "any" };
        Assert.Equal(
            [connection.Port, connection.Unit, connection.InFlight, connection.GapAllowance, connection.MaxRegisters, connection.MaxBits],
            new[] { "port", "unit", "requests-in-flight", "gap-allowance", "max-registers", "max-bits" }.Select(k => At(washer, $"$defs/modbus/properties/{k}")["default"]!.GetValue<int>()));
        var model = new WasherModel { Washer = "w", Stations = 1, Programme = [], Sequence = new StepRules([]), Signals = [] };
        Assert.Equal(
            [connection.Timeout, model.GapLimit, model.ShortestCycle],
            new[] { "$defs/modbus/properties/timeout", "properties/gap-limit", "properties/shortest-cycle" }.Select(k => Amounts.ParseDuration(At(washer, k)["default"]!.GetValue<string>())!.Value));

        // The second washer of the good configuration leaves out all that may be left out.
        using var fixture = new ConfigurationFixture();
        var bare = fixture.Load().Site!.Washers[1];
        Assert.Equal(connection with { Host = ((ModbusConnection)bare.Connection).Host }, bare.Connection);
        Assert.Equal((model.GapLimit, model.ShortestCycle, null), (bare.Model.GapLimit, bare.Model.ShortestCycle, bare.Model.DrainTimeout));
        Assert.Equal(Amounts.ParseDuration(At(washer, "properties/poll-groups/items/properties/heartbeat")["default"]!.GetValue<string>()), bare.Groups[0].Heartbeat);
        var analysis = At(washer, "properties/analysis/properties");
        Assert.Equal((bare.Analysis.FalseAlarmEvery, bare.Analysis.Alarms.WarnBefore, bare.Analysis.Alarms.NotMetInARow, bare.Analysis.Alarms.NotReadableAfter), (
            At(analysis, "false-alarm-every")["default"]!.GetValue<int>(),
            At(analysis, "warn-before")["default"]!.GetValue<int>(),
            At(analysis, "not-met-in-a-row")["default"]!.GetValue<int>(),
            Amounts.ParseDuration(At(analysis, "not-readable-after")["default"]!.GetValue<string>())!.Value));
        Assert.Equal(bare.Analysis.TellSmallChanges, At(analysis, "tell-small-changes")["default"]!.GetValue<bool>());
        Assert.Equal("20.95 %", At(Schemas.Text("recipe"), "$defs/residual-oxygen/properties/initial")["default"]!.GetValue<string>());
        Assert.Equal(0.2095, new ResidualOxygen { Id = "x", Phase = "p", AtMost = 0.1 }.Initial);
    }

    [Fact]
    public void Defaults_of_HTTP_are_those_of_the_code()
    {
        var keys = At(Schemas.Text("site"), "properties/http/properties");
        var http = new HttpConfiguration(1);
        Assert.Equal($"{http.Listen}", At(keys, "listen")["default"]!.GetValue<string>());
        Assert.Equal(http.ShortestPassword, At(keys, "shortest-password")["default"]!.GetValue<int>());
        Assert.Equal(http.Approvals, At(keys, "approvals")["default"]!.GetValue<int>());
        Assert.Equal(http.Session.Idle, Amounts.ParseDuration(At(keys, "session/properties/idle")["default"]!.GetValue<string>()));
        Assert.Equal(http.Session.Longest, Amounts.ParseDuration(At(keys, "session/properties/longest")["default"]!.GetValue<string>()));
    }

    [Fact]
    public void Defaults_and_choices_of_telemetry_and_the_log_are_those_of_the_code()
    {
        var telemetry = At(Schemas.Text("site"), "properties/telemetry/properties");
        Assert.Equal(new TelemetryConfiguration().Metrics, At(telemetry, "metrics")["default"]!.GetValue<bool>());
        var (otlp, keys) = (new OtlpConfiguration(new Uri("http://any")), At(telemetry, "otlp/properties"));
        Assert.Equal(Names.NameOf(otlp.Protocol), At(keys, "protocol")["default"]!.GetValue<string>());
        Assert.Equal(Names.Of<OtlpProtocol>(), Choices(keys, "protocol"));
        Assert.Equal(otlp.Every, Amounts.ParseDuration(At(keys, "every")["default"]!.GetValue<string>()));
        Assert.Equal(otlp.TraceShare, At(keys, "trace-share")["default"]!.GetValue<double>());
        var log = At(Schemas.Text("site"), "properties/logging/properties");
        Assert.Equal(Names.NameOf(new LoggingConfiguration().Format), At(log, "format")["default"]!.GetValue<string>());
        Assert.Equal(Names.Of<LogFormat>(), Choices(log, "format"));
        Assert.Equal(Names.Of<Microsoft.Extensions.Logging.LogLevel>(), Choices(log, "levels/additionalProperties"));
        Assert.Equal(LoggingBinder.MaxLevels, At(log, "levels")["maxProperties"]!.GetValue<int>());
    }

    [Fact]
    public void Defaults_of_OPC_UA_are_those_of_the_code()
    {
        var keys = At(Schemas.Text("washer"), "$defs/opc-ua/properties");
        var connection = new OpcUaConnection { Endpoint = new Uri("opc.tcp://any") };
        Assert.Equal([connection.Timeout, connection.SessionTimeout], new[] { "timeout", "session-timeout" }.Select(k => Amounts.ParseDuration(At(keys, k)["default"]!.GetValue<string>())!.Value));
        Assert.Equal($"{connection.Mode}", At(keys, "security-mode")["default"]!.GetValue<string>());
        Assert.Equal(OpcUaSource.StandardQueue, At(Schemas.Text("tag-map"), "$defs/opc-ua-map/properties/tags/items/properties/queue")["default"]!.GetValue<int>());
        var application = At(Schemas.Text("site"), "properties/opc-ua/properties");
        Assert.Equal(OpcUaConfiguration.StandardApplicationName, At(application, "application-name")["default"]!.GetValue<string>());
        var server = new OpcUaServerConfiguration();
        Assert.Equal(server.Port, At(application, "server/properties/port")["default"]!.GetValue<int>());
        Assert.Equal($"{server.Listen}", At(application, "server/properties/listen")["default"]!.GetValue<string>());
    }

    private static IEnumerable<string> Quantities(Func<SignalDefinition, bool> which) =>
        SignalCatalogue.All.Where(d => d.Type == SignalType.Quantity && !d.Name.EndsWith('*') && which(d)).Select(d => d.Name);

    private static IEnumerable<string> Choices(JsonNode schema, string path) => At(schema, path)["enum"]!.AsArray().Select(n => n!.GetValue<string>());

    private static JsonNode At(JsonNode node, string path) =>
        path.Split('/').Aggregate(node, (at, part) => (at is JsonArray array ? array[int.Parse(part)] : at[part]) ?? throw new KeyNotFoundException($"no {part} in {path}"));

    private static IEnumerable<string> Files(string folder) =>
        Directory.GetFiles(Path.Combine(Repository.Root, folder), "*.yaml", SearchOption.AllDirectories).Select(f => Path.GetRelativePath(Repository.Root, f)).Order(StringComparer.Ordinal);
}
