namespace WashBridge.Protocols.Modbus;

/// <summary>One request of a plan.</summary>
/// <param name="Table">The table.</param>
/// <param name="Address">Zero-based.</param>
/// <param name="Quantity">Registers or bits.</param>
/// <param name="First">Place of its first point in the plan's order.</param>
/// <param name="Count">Points that it reads.</param>
internal readonly record struct ReadBlock(ModbusTable Table, int Address, int Quantity, int First, int Count);

/// <summary>
/// Which requests read a set of points: neighbours together, within the limits of the protocol and of the options,
/// and around what the device has refused so far. A point is never torn apart.
/// </summary>
internal sealed class ReadPlan
{
    private readonly ReadPlanOptions options;
    private readonly PlannedPoint[] points;

    /// <exception cref="ArgumentException">A point contradicts itself, ends beyond address 65535, or is wider than a request may be.</exception>
    public ReadPlan(IReadOnlyList<ModbusPoint> points, ReadPlanOptions options)
    {
        options.Validate();
        this.options = options;
        this.points = [.. points.Select(Prepare).OrderBy(p => p.Point.Table).ThenBy(p => p.Point.Address).ThenBy(p => p.Width)];
    }

    /// <summary>In the plan's order: by table, then by address.</summary>
    public ReadOnlySpan<PlannedPoint> Points => points;

    /// <summary>The requests, as far as is known now what the device allows.</summary>
    /// <param name="retryBefore">Timestamp; points refused later are left out.</param>
    public List<ReadBlock> Build(long retryBefore)
    {
        var blocks = new List<ReadBlock>();
        for (var i = 0; i < points.Length; i++)
        {
            if (points[i].Refusal is { } refusal && refusal.At > retryBefore)
            {
                continue;
            }

            var block = Single(i);
            while (i + 1 < points.Length && TryExtend(ref block))
            {
                i++;
            }

            blocks.Add(block);
        }

        return blocks;
    }

    /// <summary>Halves a request that was refused, where it bridges the widest gap: the most likely reason for the refusal.</summary>
    /// <param name="boundary">The first point of the second half.</param>
    public (ReadBlock Left, ReadBlock Right) Split(ReadBlock block, out int boundary)
    {
        var widest = int.MinValue;
        boundary = block.First + (block.Count / 2);
        var middle = boundary;
        var end = End(block.First);
        for (var i = block.First + 1; i < block.First + block.Count; i++)
        {
            var gap = points[i].Point.Address - end;
            if (gap > widest || (gap == widest && Math.Abs(i - middle) < Math.Abs(boundary - middle)))
            {
                (widest, boundary) = (gap, i);
            }

            end = Math.Max(end, End(i));
        }

        return (Cover(block.First, boundary - block.First), Cover(boundary, block.First + block.Count - boundary));
    }

    /// <summary>Two neighbours that can be read apart but not together: never again in one request.</summary>
    public void Separate(int boundary) => points[boundary].IsSeparate = true;

    public void Refuse(int index, PointError error, long now) => points[index].Refusal = new Refusal(error, now);

    public void Accept(int index) => points[index].Refusal = null;

    private static PlannedPoint Prepare(ModbusPoint point, int index)
    {
        var width = RegisterCodec.Width(point);
        return point.Address + width > 65536
            ? throw new ArgumentException($"{point.Type} at address {point.Address} of {point.Table} ends beyond address 65535", nameof(point))
            : new PlannedPoint { Point = point, Width = width, Index = index };
    }

    private ReadBlock Single(int i)
    {
        var block = new ReadBlock(points[i].Point.Table, points[i].Point.Address, points[i].Width, i, 1);
        return block.Quantity <= Limit(block.Table)
            ? block
            : throw new ArgumentException($"{points[i].Point.Type} at address {block.Address} takes {block.Quantity} registers; a request may read {Limit(block.Table)}");
    }

    private bool TryExtend(ref ReadBlock block)
    {
        var next = points[block.First + block.Count];
        var end = block.Address + block.Quantity;
        var quantity = Math.Max(end, next.Point.Address + next.Width) - block.Address;
        if (next.Point.Table != block.Table
            || next.IsSeparate
            || next.Refusal is not null
            || points[block.First + block.Count - 1].Refusal is not null
            || next.Point.Address - end > Allowance(block.Table)
            || quantity > Limit(block.Table))
        {
            return false;
        }

        block = block with { Quantity = quantity, Count = block.Count + 1 };
        return true;
    }

    private ReadBlock Cover(int first, int count)
    {
        var end = 0;
        for (var i = first; i < first + count; i++)
        {
            end = Math.Max(end, End(i));
        }

        return new ReadBlock(points[first].Point.Table, points[first].Point.Address, end - points[first].Point.Address, first, count);
    }

    private int End(int i) => points[i].Point.Address + points[i].Width;

    private int Limit(ModbusTable table) => ReadPdu.IsOfBits(table) ? options.MaxBits : options.MaxRegisters;

    private int Allowance(ModbusTable table) => ReadPdu.IsOfBits(table) ? 16 * options.GapAllowance : options.GapAllowance;
}

/// <summary>A point in its place in the plan, and what has been learned about it.</summary>
internal sealed class PlannedPoint
{
    public required ModbusPoint Point { get; init; }

    public required int Width { get; init; }

    /// <summary>Its place in the caller's list.</summary>
    public required int Index { get; init; }

    /// <summary>May not be read together with the point before.</summary>
    public bool IsSeparate { get; set; }

    /// <summary>Set while the device is known not to have it.</summary>
    public Refusal? Refusal { get; set; }
}

/// <summary>What the device said, and when (timestamp).</summary>
internal sealed record Refusal(PointError Error, long At);
