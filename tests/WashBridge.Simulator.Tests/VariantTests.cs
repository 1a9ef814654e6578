using CsCheck;
using WashBridge.Core.Cycles;
using WashBridge.Protocols.Modbus;
using WashBridge.Simulator.Faults;
using WashBridge.Simulator.Physics;
using WashBridge.Simulator.Programmes;
using WashBridge.Simulator.Truth;

namespace WashBridge.Simulator.Tests;

public sealed class VariantTests
{
    private static readonly WasherOptions[] Variants =
    [
        new() { Id = "codes" },
        new() { Id = "passes", PassInCode = true, PausedCode = true, Programmes = [InventedProgrammes.Repeated, InventedProgrammes.WithoutAcid] },
        new() { Id = "bits", Sequence = SequenceOutput.ValveBits, Layout = RegisterLayout.Packed },
        new() { Id = "steam", Sequence = SequenceOutput.ValveBits, Programmes = [InventedProgrammes.Steam], Stations = 1 },
        new() { Id = "poor", Stations = 8, Instrumentation = Instrumentation.Poor, SharedDrainSensor = true, KegPresent = false, Layout = RegisterLayout.Packed, RefusesHoles = true },
        new() { Id = "uneven", Stations = 5, EmptyStationChance = 0.5, KegIds = true, Scan = TimeSpan.FromMilliseconds(20), Layout = RegisterLayout.Packed },
    ];

    public static TheoryData<string> Names => [.. Variants.Select(v => v.Id)];

    [Theory]
    [MemberData(nameof(Names))]
    public void The_registers_tell_the_true_place_in_the_programme_at_every_scan(string name)
    {
        var washer = Washer(name);
        var places = Places(washer);
        for (var t = TimeSpan.Zero; t < TimeSpan.FromMinutes(12); t += washer.Options.Scan)
        {
            washer.AdvanceTo(t);
            var step = washer.CurrentCycle is { } cycle ? cycle.Steps.Last() : null;
            switch (washer.Model.Sequence)
            {
                case StepTable table:
                    var code = (int)washer.Read(places["sequence.step"]).Number;
                    if (step is null)
                    {
                        Assert.Contains(code, table.IdleCodes);
                    }
                    else
                    {
                        Assert.Equal(new ProgrammePosition(step.Phase, step.Kind, washer.Options.PassInCode ? step.Pass : null), table.Codes[code]);
                    }

                    break;
                case StepRules rules:
                    var rule = rules.Rules.First(r => r.When.All(w => washer.Read(places[w.Key]).IsSet == w.Value));
                    if (step is null)
                    {
                        Assert.Empty(rule.Phases);
                    }
                    else
                    {
                        Assert.Equal(step.Kind, rule.Step);
                        Assert.Contains(step.Phase, rule.Phases);
                    }

                    break;
                default:
                    Assert.Fail("no such rule");
                    break;
            }
        }

        Assert.True(washer.FinishedCycles.Count >= 2);
        Assert.All(washer.FinishedCycles, c => Assert.Equal(TrueOutcome.Completed, c.Outcome));
    }

    [Theory]
    [MemberData(nameof(Names))]
    public void The_registers_decode_to_what_a_direct_read_gives(string name)
    {
        var washer = Washer(name);
        Span<bool> bit = [false];
        foreach (var seconds in new[] { 1, 33, 47, 90, 171, 200 })
        {
            washer.AdvanceTo(TimeSpan.FromSeconds(seconds));
            for (var i = 0; i < washer.Map.Count; i++)
            {
                var register = washer.Map[i];
                var direct = washer.Read(i);
                if (register.Point.Table == ModbusTable.DiscreteInputs)
                {
                    Assert.Null(washer.Registers.ReadBits(1, register.Point.Table, register.Point.Address, bit));
                    Assert.Equal(direct.IsSet, bit[0]);
                    continue;
                }

                var registers = new ushort[register.Width];
                Assert.Null(washer.Registers.ReadRegisters(1, register.Point.Table, register.Point.Address, registers));
                var value = RegisterCodec.Decode(register.Point, registers);
                Assert.Equal(DecodeIssue.None, value.Issue);
                Assert.Equal(direct.Text, value.Text);
                Assert.Equal(direct.Number, value.Number * register.Scale);
            }
        }
    }

    [Fact]
    public void Addresses_outside_the_map_are_refused()
    {
        var open = Washer("bits");
        var strict = Washer("poor");
        var last = open.Map.Where(m => m.Point.Table == ModbusTable.HoldingRegisters).Max(m => m.Point.Address + m.Width) - 1;
        Assert.Null(open.Registers.ReadRegisters(1, ModbusTable.HoldingRegisters, (ushort)last, new ushort[1]));
        Assert.Equal(ModbusExceptionCode.IllegalDataAddress, open.Registers.ReadRegisters(1, ModbusTable.HoldingRegisters, (ushort)last, new ushort[2]));
        Assert.Equal(ModbusExceptionCode.IllegalDataAddress, open.Registers.ReadRegisters(1, ModbusTable.InputRegisters, 0, new ushort[1]));
        Assert.Equal(ModbusExceptionCode.IllegalDataAddress, open.Registers.ReadBits(1, ModbusTable.Coils, 0, new bool[1]));
        Assert.Equal(ModbusExceptionCode.IllegalDataAddress, open.Registers.ReadRegisters(1, ModbusTable.HoldingRegisters, ushort.MaxValue, new ushort[2]));

        // A hole between the flags and the codes: read as nothing, or refused.
        Assert.Null(open.Registers.ReadRegisters(1, ModbusTable.HoldingRegisters, 0, new ushort[12]));
        Assert.Equal(ModbusExceptionCode.IllegalDataAddress, strict.Registers.ReadRegisters(1, ModbusTable.HoldingRegisters, 0, new ushort[12]));
    }

    [Fact]
    public async Task What_one_request_reads_is_of_one_scan_even_while_the_washer_is_moved()
    {
        var washer = Washer("bits");
        var places = washer.Map.Index().Where(m => m.Item.Signal.Name.StartsWith("valve.", StringComparison.Ordinal) || m.Item.Signal.Name == "pump.spray").Select(m => m.Item.Point).ToList();
        var running = washer.Map.Single(m => m.Signal.Name == "sequence.running").Point;
        var drain = washer.Map.Single(m => m.Signal.Name == "valve.drain").Point;
        var spray = washer.Map.Single(m => m.Signal.Name == "valve.wall-spray").Point;
        var moving = Task.Run(() => washer.AdvanceTo(TimeSpan.FromHours(1)), TestContext.Current.CancellationToken);
        var registers = new ushort[4];
        var states = new HashSet<int>();
        bool last;
        do
        {
            last = moving.IsCompleted;
            Assert.Null(washer.Registers.ReadRegisters(1, ModbusTable.HoldingRegisters, 0, registers));
            bool Bit(ModbusPoint point) => (registers[point.Address] >> point.BitNumber & 1) != 0;
            Assert.True(Bit(running) || !places.Any(Bit), "a valve is open although nothing runs");
            Assert.False(Bit(drain) && Bit(spray), "spraying into an open drain");
            states.Add(registers[0]);
        }
        while (!last);
        await moving;
        Assert.NotEmpty(states);
    }

    [Fact]
    public void Steam_heats_the_keg_enough_for_a_thermal_dose()
    {
        var washer = Washer("steam");
        washer.AdvanceTo(TimeSpan.FromMinutes(10));
        Assert.All(washer.FinishedCycles, c => Assert.InRange(c.Kegs[0].HottestCel, 90, 125));
    }

    [Fact]
    public void At_least_one_keg_is_loaded_and_empty_stations_have_no_truth()
    {
        var washer = Washer("uneven");
        washer.AdvanceTo(TimeSpan.FromHours(1));
        var loaded = washer.FinishedCycles.Select(c => c.Kegs.Count).ToList();
        Assert.All(loaded, n => Assert.InRange(n, 1, 5));
        Assert.True(loaded.Distinct().Count() >= 3);
        Assert.All(washer.FinishedCycles, c => Assert.Equal(c.Kegs.Select(k => k.Station), c.Drains.Select(d => d.Station).Distinct().Order()));
    }

    [Fact]
    public void Rinse_water_carried_over_and_what_is_dragged_out_weaken_a_bath_that_is_not_dosed()
    {
        var options = new WasherOptions
        {
            Id = "undosed",
            Plant = new PlantOptions
            {
                Baths = [new(BathKind.Caustic, 90, 2, 70, 9, false), new(BathKind.Acid, 60, 0.8, 20, 0, false), new(BathKind.Sanitiser, 60, 1, 20, 0, false)],
            },
        };
        var washer = new SimulatedWasher(options);
        var strengths = new List<double>();
        for (var hour = 1; hour <= 4; hour++)
        {
            washer.AdvanceTo(TimeSpan.FromHours(hour));
            strengths.Add(washer.Plant.Bath(BathKind.Caustic)!.StrengthPercent);
        }

        Assert.All(strengths.Zip(strengths.Skip(1)), pair => Assert.True(pair.Second < pair.First));
        Assert.InRange(strengths[^1], 1.0, 1.9);
    }

    [Fact]
    public void The_same_seed_gives_the_same_truth_and_another_seed_another() =>
        Gen.Select(Gen.Int[1, 1_000_000], Gen.Int[0, Variants.Length - 1]).Sample((seed, variant) =>
        {
            Assert.Equal(Ends(seed, variant), Ends(seed, variant));
            Assert.NotEqual(Ends(seed, variant), Ends(seed + 1, variant));
        }, iter: 8);

    [Theory]
    [InlineData(0, "stations 0: 1 to 8")]
    [InlineData(9, "stations 9: 1 to 8")]
    public void Options_out_of_range_are_refused_with_what_is_allowed(int stations, string expected) =>
        Assert.Contains(expected, Assert.Throws<ArgumentException>(() => new SimulatedWasher(new WasherOptions { Id = "w", Stations = stations })).Message);

    [Fact]
    public void A_programme_whose_phases_are_not_those_of_the_first_is_refused() =>
        Assert.Contains("programme 1: phase 'steam'", Assert.Throws<ArgumentException>(() => new SimulatedWasher(new WasherOptions { Id = "w", Programmes = [InventedProgrammes.Full, InventedProgrammes.Steam] })).Message);

    private static List<TimeSpan> Ends(int seed, int variant)
    {
        var washer = new SimulatedWasher(Variants[variant] with { Seed = seed });
        washer.AdvanceTo(TimeSpan.FromMinutes(15));
        return [.. washer.FinishedCycles.SelectMany(c => c.Steps).Select(s => s.End!.Value)];
    }

    private static SimulatedWasher Washer(string name) => new(Variants.Single(v => v.Id == name));

    private static Dictionary<string, int> Places(SimulatedWasher washer) =>
        washer.Map.Index().DistinctBy(m => m.Item.Signal.Name).ToDictionary(m => m.Item.Signal.Name, m => m.Index);
}
