using System.Runtime.CompilerServices;
using System.Runtime.ExceptionServices;

namespace WashBridge.Protocols.Modbus;

/// <summary>
/// Reads a set of points of one unit, all of them once a scan, in as few requests as the device allows. It learns: where
/// a request is refused (exception 02 or 03) it is halved until what can be read is read; the next scan asks accordingly.
/// It outlives connections, so that what it learned does. One scan at a time.
/// </summary>
public sealed class ModbusScanner
{
    private readonly byte unit;
    private readonly ReadPlanOptions options;
    private readonly ReadPlan plan;
    private readonly List<BlockRead> reads = [];
    private ValueTask<ModbusTiming>[] pending = [];
    private int planned;
    private bool mustPlan = true;
    private long nextRetry = long.MaxValue;
    private int isScanning;

    /// <param name="unit">0 to 255.</param>
    /// <param name="points">At least one.</param>
    /// <exception cref="ArgumentException">A point contradicts itself or cannot be read in one request; the message says which.</exception>
    public ModbusScanner(byte unit, IReadOnlyList<ModbusPoint> points, ReadPlanOptions options)
    {
        ArgumentNullException.ThrowIfNull(points);
        ArgumentNullException.ThrowIfNull(options);
        this.unit = unit;
        this.options = options;
        plan = new ReadPlan(points, options);
        plan.Build(retryBefore: long.MaxValue);
    }

    public ScanResult CreateResult()
    {
        var widths = new int[plan.Points.Length];
        foreach (var point in plan.Points)
        {
            widths[point.Index] = point.Width;
        }

        return new ScanResult(widths);
    }

    /// <summary>Reads every point once. A point that the device refuses has its error in the result; the others have their values.</summary>
    /// <param name="client">Nobody else may use it meanwhile, unless it allows more requests in flight than this scan needs.</param>
    /// <param name="result">From <see cref="CreateResult"/>; valid once the task has completed without an exception.</param>
    /// <exception cref="ModbusException">The connection failed or a request timed out: the first failure. The result is not valid.</exception>
    [AsyncMethodBuilder(typeof(PoolingAsyncValueTaskMethodBuilder))]
    public async ValueTask ScanAsync(ModbusClient client, ScanResult result, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(client);
        ArgumentNullException.ThrowIfNull(result);
        if (Interlocked.Exchange(ref isScanning, 1) != 0)
        {
            throw new InvalidOperationException("a scan is still going on");
        }

        try
        {
            Begin(client, result);
            await ReadAllAsync(client, result, cancellation);
            Learn();
        }
        finally
        {
            isScanning = 0;
        }
    }

    private void Begin(ModbusClient client, ScanResult result)
    {
        result.Clear();
        var now = client.Time.GetTimestamp();
        if (mustPlan || now >= nextRetry)
        {
            Plan(now, (long)(options.RefusalMemory.TotalSeconds * client.Time.TimestampFrequency));
        }

        reads.RemoveRange(planned, reads.Count - planned);
        foreach (var point in plan.Points)
        {
            if (point.Refusal is { } refusal)
            {
                result.SetError(point.Index, refusal.Error, timing: -1);
            }
        }

        if (pending.Length != client.Options.InFlight)
        {
            pending = new ValueTask<ModbusTiming>[client.Options.InFlight];
        }
    }

    private void Plan(long now, long memoryTicks)
    {
        reads.Clear();
        reads.AddRange(plan.Build(now - memoryTicks).Select(block => new BlockRead(block, parent: null)));
        planned = reads.Count;
        mustPlan = false;
        nextRetry = long.MaxValue;
        foreach (var point in plan.Points)
        {
            if (point.Refusal is { } refusal && refusal.At > now - memoryTicks)
            {
                nextRetry = Math.Min(nextRetry, refusal.At + memoryTicks);
            }
        }
    }

    /// <summary>Keeps as many requests on their way as the client allows, and takes their answers in order.</summary>
    [AsyncMethodBuilder(typeof(PoolingAsyncValueTaskMethodBuilder))]
    private async ValueTask ReadAllAsync(ModbusClient client, ScanResult result, CancellationToken cancellation)
    {
        Exception? failure = null;
        var sent = 0;
        for (var taken = 0; taken < sent || (failure is null && sent < reads.Count); taken++)
        {
            // Answers are taken once half of them may be there: what is asked next then leaves in one segment.
            if (failure is null && sent < reads.Count && sent - taken <= pending.Length / 2)
            {
                for (; sent < reads.Count && sent - taken < pending.Length; sent++)
                {
#pragma warning disable CA2012 // Each is awaited once, below, before its place is used again.
                    pending[sent % pending.Length] = reads[sent].Ask(client, unit, cancellation);
#pragma warning restore CA2012
                }

                client.Flush();
            }

            var read = reads[taken];
            try
            {
                var timing = await pending[taken % pending.Length];
                Store(read, result, result.Add(timing));
            }
            catch (ModbusDeviceException e)
            {
                Refused(read, e, result, client.Time.GetTimestamp());
            }
            catch (Exception e) when (e is ModbusException or OperationCanceledException)
            {
                // The others are awaited all the same: their buffers are the client's until then.
                failure ??= e;
            }
        }

        if (failure is not null)
        {
            ExceptionDispatchInfo.Throw(failure);
        }
    }

    private void Store(BlockRead read, ScanResult result, int timing)
    {
        var block = read.Block;
        foreach (var point in plan.Points.Slice(block.First, block.Count))
        {
            var offset = point.Point.Address - block.Address;
            if (ReadPdu.IsOfBits(block.Table))
            {
                result.SetBit(point.Index, read.Bits[offset], timing);
            }
            else
            {
                result.SetRegisters(point.Index, point.Point, read.Registers.AsSpan(offset, point.Width), timing);
            }

            if (point.Refusal is not null)
            {
                // It was refused once and is there now: it may be read with its neighbours again.
                plan.Accept(block.First);
                mustPlan = true;
            }
        }
    }

    private void Refused(BlockRead read, ModbusDeviceException e, ScanResult result, long now)
    {
        var timing = result.Add(new ModbusTiming(read.Asked, now));
        var block = read.Block;
        if (!e.IsRefusalOfRange)
        {
            foreach (var point in plan.Points.Slice(block.First, block.Count))
            {
                result.SetError(point.Index, PointError.Of(e.Code), timing);
            }

            return;
        }

        mustPlan = true;
        read.Refuse();
        if (block.Count > 1)
        {
            var (left, right) = plan.Split(block, out read.Boundary);
            reads.Add(new BlockRead(left, read));
            reads.Add(new BlockRead(right, read));
        }
        else
        {
            var error = PointError.Of(e.Code);
            plan.Refuse(block.First, error, now);
            result.SetError(plan.Points[block.First].Index, error, timing);
        }
    }

    /// <summary>A request that was refused although each half of it was answered: its halves are kept apart from now on.</summary>
    private void Learn()
    {
        foreach (var read in reads)
        {
            if (read.IsRefused && read.Boundary > 0 && !read.IsExplained)
            {
                plan.Separate(read.Boundary);
            }
        }
    }

    /// <summary>One request of a scan and its buffer.</summary>
    private sealed class BlockRead(ReadBlock block, BlockRead? parent)
    {
        /// <summary>Where it was halved, if it was: never 0.</summary>
        public int Boundary;

        public ReadBlock Block { get; } = block;

        public bool[] Bits { get; } = ReadPdu.IsOfBits(block.Table) ? new bool[block.Quantity] : [];

        public ushort[] Registers { get; } = ReadPdu.IsOfBits(block.Table) ? [] : new ushort[block.Quantity];

        public long Asked { get; private set; }

        public bool IsRefused { get; private set; }

        /// <summary>One of its halves was refused too, which is reason enough.</summary>
        public bool IsExplained { get; private set; }

        public ValueTask<ModbusTiming> Ask(ModbusClient client, byte unit, CancellationToken cancellation)
        {
            Asked = client.Time.GetTimestamp();
            var request = client.Rent();
            return client.Enqueue(
                ReadPdu.IsOfBits(Block.Table)
                    ? request.Ask(unit, Block.Table, (ushort)Block.Address, Bits)
                    : request.Ask(unit, Block.Table, (ushort)Block.Address, Registers),
                cancellation);
        }

        public void Refuse()
        {
            IsRefused = true;
            if (parent is not null)
            {
                parent.IsExplained = true;
            }
        }
    }
}
