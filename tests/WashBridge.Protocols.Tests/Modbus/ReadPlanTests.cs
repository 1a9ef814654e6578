using CsCheck;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>Which requests a set of points becomes.</summary>
public sealed class ReadPlanTests
{
    [Fact]
    public void Neighbours_are_read_together_and_a_gap_as_wide_as_allowed_is_bridged()
    {
        Assert.Equal([(10, 4)], Blocks([Word(10), Word(11), Word(13)], new ReadPlanOptions { GapAllowance = 1 }));
        Assert.Equal([(10, 2), (14, 1)], Blocks([Word(14), Word(11), Word(10)], new ReadPlanOptions { GapAllowance = 1 }));
    }

    [Fact]
    public void Bits_may_bridge_sixteen_times_as_many()
    {
        var options = new ReadPlanOptions { GapAllowance = 1 };
        Assert.Equal([(0, 18)], Blocks([Coil(0), Coil(17)], options));
        Assert.Equal([(0, 1), (18, 1)], Blocks([Coil(0), Coil(18)], options));
    }

    [Fact]
    public void Several_bits_of_one_register_take_one_register() =>
        Assert.Equal([(5, 1)], Blocks([.. Enumerable.Range(0, 16).Select(b => new ModbusPoint(ModbusTable.HoldingRegisters, 5, RegisterType.Bit, b))], new ReadPlanOptions()));

    [Fact]
    public void Tables_are_never_mixed() =>
        Assert.Equal(2, Blocks([Word(1), new ModbusPoint(ModbusTable.InputRegisters, 1, RegisterType.Int16)], new ReadPlanOptions()).Length);

    [Fact]
    public void A_point_that_does_not_fit_beside_the_others_begins_a_new_request() =>
        Assert.Equal([(0, 4), (4, 2)], Blocks([Long(0), Long(2), Long(4)], new ReadPlanOptions { MaxRegisters = 5 }));

    [Fact]
    public void A_point_wider_than_a_request_or_beyond_the_last_address_is_refused()
    {
        Assert.Throws<ArgumentException>(() => Blocks([Long(0)], new ReadPlanOptions { MaxRegisters = 1 }));
        Assert.Throws<ArgumentException>(() => Blocks([Long(65535)], new ReadPlanOptions()));
    }

    /// <summary>What must hold for any points and any options.</summary>
    [Fact]
    public void Every_point_is_in_exactly_one_request_that_covers_it_and_every_request_keeps_the_limits()
    {
        var point = Gen.Select(Gen.Int[1, 4], Gen.Int[0, 300], Gen.Bool).Select((table, address, isWide) =>
            new ModbusPoint((ModbusTable)table, (ushort)address, table <= 2 ? RegisterType.Bit : isWide ? RegisterType.Float64 : RegisterType.Int16));
        Gen.Select(point.Array[1, 60], Gen.Int[0, 20], Gen.Int[4, 125], Gen.Int[1, 2000]).Sample((points, gap, registers, bits) =>
        {
            var options = new ReadPlanOptions { GapAllowance = gap, MaxRegisters = registers, MaxBits = bits };
            var plan = new ReadPlan(points, options);
            var covered = new List<int>();
            foreach (var block in plan.Build(long.MaxValue))
            {
                Assert.InRange(block.Quantity, 1, ReadPdu.IsOfBits(block.Table) ? bits : registers);
                foreach (var p in plan.Points.Slice(block.First, block.Count))
                {
                    Assert.Equal(block.Table, p.Point.Table);
                    Assert.InRange(p.Point.Address, block.Address, block.Address + block.Quantity - p.Width);
                    covered.Add(p.Index);
                }
            }

            Assert.Equal(Enumerable.Range(0, points.Length), covered.Order());
        });
    }

    private static ModbusPoint Word(ushort address) => new(ModbusTable.HoldingRegisters, address, RegisterType.UInt16);

    private static ModbusPoint Long(ushort address) => new(ModbusTable.HoldingRegisters, address, RegisterType.UInt32);

    private static ModbusPoint Coil(ushort address) => new(ModbusTable.Coils, address, RegisterType.Bit);

    private static (int, int)[] Blocks(ModbusPoint[] points, ReadPlanOptions options) =>
        [.. new ReadPlan(points, options).Build(long.MaxValue).Select(b => (b.Address, b.Quantity))];
}
