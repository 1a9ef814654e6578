using System.Net;
using Microsoft.Extensions.Logging;
using WashBridge.Analysing;
using WashBridge.Analysis.Alarms;
using WashBridge.Configuration;
using WashBridge.Core.Cycles;
using WashBridge.Core.Recipes;
using WashBridge.Core.Signals;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Tests.Configuration;

public sealed class GoodConfigurationTests : IDisposable
{
    private readonly ConfigurationFixture fixture = new();

    public void Dispose() => fixture.Dispose();

    [Fact]
    public void Every_key_of_the_site_file_arrives()
    {
        var site = Load();
        Assert.Equal(("test-site", "Test site", TimeZoneInfo.Utc), (site.Id, site.Title, site.Zone));
        Assert.Equal(Path.Combine(fixture.Folder, "data/washes.db"), site.Store.Path);
        Assert.Equal(TimeSpan.FromDays(400), site.Store.Retention);
        Assert.Equal((8480, true, false, 14, 2), (site.Http!.Port, site.Http.NeedsLogin, site.Http.IsSecure, site.Http.ShortestPassword, site.Http.Approvals));
        Assert.Equal((IPAddress.Loopback, TimeSpan.FromMinutes(40), TimeSpan.FromHours(10)), (site.Http.Listen, site.Http.Session.Idle, site.Http.Session.Longest));
        Assert.Equal(["washers.example"], site.Http.HostNames);
        Assert.Equal(
            new InfluxConfiguration { Id = "plant", Url = new Uri("http://influx.example:8086"), Api = 1, Bucket = "washers", RetentionPolicy = "year", User = "bridge", Secret = "not-so-secret" },
            site.Influx[0]);
        Assert.Equal(
            new InfluxConfiguration { Id = "cloud", Url = new Uri("https://influx.example"), Api = 2, Bucket = "washers", Organisation = "brewery", Secret = "a-token-for-tests", Samples = true },
            site.Influx[1]);
        Assert.Equal(
            ("plant", "mqtts://broker.example:8884", "washers", "not-so-secret", "brewery", "bridge-1", "plant-host", true),
            (site.Mqtt[0].Id, site.Mqtt[0].Address, site.Mqtt[0].User, site.Mqtt[0].Secret, site.Mqtt[0].Group, site.Mqtt[0].EdgeNode, site.Mqtt[0].PrimaryHost, site.Mqtt[0].StateTopics));
        Assert.Equal(
            ("local", "mqtt://127.0.0.1:1883", null, "test-site", "washbridge", null, false),
            (site.Mqtt[1].Id, site.Mqtt[1].Address, site.Mqtt[1].User, site.Mqtt[1].Group, site.Mqtt[1].EdgeNode, site.Mqtt[1].PrimaryHost, site.Mqtt[1].StateTopics));
        Assert.Equal(
            (new Uri("https://bridge-2.example:8480"), false, "a-token-for-tests", TimeSpan.FromSeconds(20)),
            (site.Pair!.Partner, site.Pair.IsFirst, site.Pair.Secret, site.Pair.TakeOverAfter));
    }

    [Fact]
    public void Every_key_of_telemetry_and_the_log_arrives()
    {
        var site = Load();
        Assert.True(site.Telemetry.Metrics);
        Assert.Equal(new OtlpConfiguration(new Uri("http://127.0.0.1:4318")) { Protocol = OtlpProtocol.Http, Every = TimeSpan.FromSeconds(15), TraceShare = 0.5 }, site.Telemetry.Otlp);
        Assert.Equal(LogFormat.Json, site.Logging.Format);
        Assert.Equal(new Dictionary<string, LogLevel> { ["default"] = LogLevel.Warning, ["WashBridge.Polling"] = LogLevel.Debug }, site.Logging.Levels);
    }

    [Fact]
    public void Shifts_and_closed_dates_arrive()
    {
        var site = Load();
        Assert.Equal(site.Zone, site.Shifts.Zone);
        Assert.Equal(
            [("Monday Tuesday Wednesday Thursday", new TimeOnly(6, 0), TimeSpan.FromHours(8)), ("Friday", new TimeOnly(22, 30), TimeSpan.FromHours(6))],
            site.Shifts.Shifts.Select(s => (string.Join(' ', s.Days), s.Begin, s.Length)));
        Assert.Equal([new DateOnly(2031, 12, 25), new DateOnly(2032, 1, 1)], site.Shifts.Closed);
    }

    [Fact]
    public void Every_key_of_the_analysis_arrives()
    {
        var site = Load();
        var settings = AnalysisInputs.Settings(site.Washers[0], site);
        Assert.Equal(("w1", 2, 5000, TimeSpan.FromSeconds(40)), (settings.Washer, settings.Stations, settings.FalseAlarmEvery, settings.DrainTimeout));
        Assert.Equal(new AlarmSettings { WarnBefore = 200, NotMetInARow = 2, NotReadableAfter = TimeSpan.FromSeconds(90) }, settings.Alarms);
        Assert.Equal(new Dictionary<string, double> { ["drain-index@2"] = 3.5, ["dosing-rate/caustic"] = 0.4 }, settings.Limits);
        Assert.True(settings.TellSmallChanges);
        Assert.False(AnalysisInputs.Settings(site.Washers[1], site).TellSmallChanges);
        Assert.Same(site.Shifts, settings.Shifts);
        Assert.Equal(new AnalysisConfiguration().Alarms, site.Washers[1].Analysis.Alarms);
    }

    [Fact]
    public void Every_key_of_a_washer_with_step_codes_arrives()
    {
        var washer = Load().Washers[0];
        Assert.Equal(("w1", 2, "Washer with step codes"), (washer.Model.Washer, washer.Model.Stations, washer.Title));
        Assert.Equal(
            new ModbusConnection { Host = "192.0.2.10", Port = 1502, Unit = 1, Timeout = TimeSpan.FromMilliseconds(500), InFlight = 2, GapAllowance = 4, MaxRegisters = 60, MaxBits = 500 },
            washer.Connection);
        Assert.Equal(["rinse", "sanitise", "purge"], washer.Model.Programme.Select(p => p.Id));
        Assert.Equal([StepKind.WallSpray, StepKind.Hold, StepKind.Drain], washer.Model.Programme[1].Steps);
        var table = Assert.IsType<StepTable>(washer.Model.Sequence);
        Assert.Equal(new ProgrammePosition("sanitise", StepKind.Hold, 1), table.Codes[21]);
        Assert.Equal([0, 1, 90, 99], table.IdleCodes.Concat(table.PausedCodes).Concat(table.FaultCodes).Order());
        Assert.Equal(new PollGroup(0, "sequence", TimeSpan.FromMilliseconds(250), TimeSpan.FromSeconds(30)), washer.Groups[0]);
        Assert.Equal(TimeSpan.FromMinutes(1), washer.Groups[1].Heartbeat);
        Assert.Equal(("standard", "short", "standard"), (washer.RecipeFor(null).Id, washer.RecipeFor(2).Id, washer.RecipeFor(3).Id));
        Assert.Equal((TimeSpan.FromSeconds(2), TimeSpan.FromMinutes(2), TimeSpan.FromSeconds(40)), (washer.Model.GapLimit, washer.Model.ShortestCycle, washer.Model.DrainTimeout!.Value));
    }

    [Fact]
    public void Addresses_of_a_map_that_counts_from_one_become_protocol_addresses()
    {
        var washer = Load().Washers[0];
        var step = washer.Tags.Single(t => t.Signal.Name == "sequence.step");
        Assert.Equal(new ModbusPoint(ModbusTable.HoldingRegisters, 0, RegisterType.UInt16), Point(step));
        var temperature = washer.Tags.Single(t => t.Signal.Name == "temperature.sanitiser");
        Assert.Equal(
            new Tag
            {
                Signal = new Signal("w1", 0, "temperature.sanitiser", "Cel", SignalType.Quantity),
                Group = 1,
                Source = new ModbusSource(new ModbusPoint(ModbusTable.InputRegisters, 9, RegisterType.Int16)),
                Scale = 0.1,
                Offset = -5,
                DeadBand = 0.2,
                Minimum = -10,
                Maximum = 120,
            },
            temperature);
        Assert.Equal(WordOrder.LowFirst, Point(washer.Tags.Single(t => t.Signal.Name == "pressure.keg")).Words);
        Assert.Equal(new Signal("w1", 0, "setpoint.sanitise.hold", "s", SignalType.Quantity), washer.Tags.Single(t => t.Signal.Name.StartsWith("setpoint", StringComparison.Ordinal)).Signal);
        Assert.Equal(12, Point(washer.Tags.Single(t => t.Signal.Name == "keg.id")).TextLength);
        Assert.Equal(washer.Tags.Select(t => t.Signal), washer.Model.Signals);
    }

    [Fact]
    public void Every_key_of_a_washer_with_rules_over_bits_arrives()
    {
        var washer = Load().Washers[1];
        var rules = Assert.IsType<StepRules>(washer.Model.Sequence).Rules;
        Assert.Empty(rules[0].Phases);
        Assert.Equal(new Dictionary<string, bool> { ["pump.spray"] = true, ["valve.drain"] = false }, rules[2].When);
        var connection = Assert.IsType<ModbusConnection>(washer.Connection);
        Assert.Equal((502, (byte)255, TimeSpan.FromSeconds(1)), (connection.Port, connection.Unit, connection.Timeout));
        Assert.Equal(new ModbusPoint(ModbusTable.InputRegisters, 7, RegisterType.Bit, BitNumber: 15), Point(washer.Tags[3]));
        Assert.True(washer.Tags[2].Invert);
    }

    [Fact]
    public void Every_kind_of_requirement_arrives()
    {
        var recipe = Load().Washers[0].Recipe;
        Assert.Equal(new DecisionRule(DecisionMethod.GuardBand, 0.05), recipe.Rule);
        Assert.Equal(3, recipe.Version);
        Assert.Equal(new KeyValuePair<string, ApprovedSetpoint>("sanitise.hold", new ApprovedSetpoint(45, "s", 0.5)), Assert.Single(recipe.Setpoints));
        var r = recipe.Requirements;
        Assert.Equal(["rinse", "sanitise", "purge"], Assert.IsType<PhaseOrder>(r[0]).Phases);
        Assert.Equal(new StepTime { Id = "dwell", Phase = "sanitise", Step = StepKind.Hold, AtLeast = TimeSpan.FromSeconds(45), AtMost = TimeSpan.FromMinutes(5), Total = true }, r[1]);
        Assert.Equal(
            new ContactTime { Id = "contact", From = new EdgeName("sanitise", StepKind.WallSpray, EdgeSide.Start), To = new EdgeName("sanitise", null, EdgeSide.End), AtLeast = TimeSpan.FromSeconds(60), EveryPass = true },
            r[2]);
        var warm = Assert.IsType<TimeBeyond>(r[3]);
        Assert.Equal((20, false, 0.3, TimeSpan.FromSeconds(30)), (warm.Value, warm.Below, warm.SensorUncertainty, warm.AtLeast));
        Assert.Equal(new PassCount { Id = "passes", Phase = "rinse", AtLeast = 2 }, r[4]);
        Assert.Equal(new SwingCount { Id = "swings", Phase = "purge", AtLeast = 3 }, r[5]);
        Assert.Equal(TimeSpan.FromSeconds(25), Assert.IsType<DrainLimit>(r[6]).AtMost);
        Assert.Equal(new ResidualOxygen { Id = "oxygen", Phase = "purge", AtMost = 0.01, Initial = 0.2095, InPurgeGas = 1e-5, SensorUncertainty = 0.01 }, r[7]);
        Assert.Equal(600, Assert.IsType<ThermalDose>(r[8]).AtLeast);
        var shorter = Load().Washers[0].RecipeFor(2).Requirements;
        Assert.True(Assert.IsType<TimeBeyond>(shorter[1]).Below);
        Assert.Equal((DoseMethod.PasteurisationUnits, 15), (Assert.IsType<ThermalDose>(shorter[2]).Method, ((ThermalDose)shorter[2]).AtLeast));
    }

    [Fact]
    public void All_files_read_are_listed() => Assert.Equal(
        ["site.yaml", "washers/w1.yaml", "tag-maps/codes.yaml", "recipes/standard.yaml", "recipes/short.yaml", "washers/w2.yaml", "recipes/minimal.yaml"],
        fixture.Load().Files.Select(f => Path.GetRelativePath(fixture.Folder, f)));

    private static ModbusPoint Point(Tag tag) => Assert.IsType<ModbusSource>(tag.Source).Point;

    private Site Load()
    {
        var loaded = fixture.Load();
        Assert.Empty(loaded.Problems);
        return loaded.Site!;
    }
}
