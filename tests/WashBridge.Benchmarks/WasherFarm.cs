using System.Diagnostics;
using System.Net;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Benchmarks;

/// <summary>
/// Many small controllers in a process of their own: 60 registers each. Registers 0 and 1 hold the machine's monotonic time, in units of 100 us,
/// of their last change; the others are flags, a step code and noisy measurements, so that about as much changes as at a washer at work.
/// </summary>
internal sealed class WasherFarm : IBench
{
    public const int Tags = 60;

    public string Name => "washer-farm";

    public string What => "(child process of 'service') many small Modbus servers; prints their ports; ends with its standard input";

    public static uint Now => (uint)(Stopwatch.GetTimestamp() / (Stopwatch.Frequency / 10_000));

    public async Task RunAsync(string[] arguments, CancellationToken cancellation)
    {
        var servers = Enumerable.Range(0, int.Parse(arguments[0])).Select(i => ModbusServer.Start(new IPEndPoint(IPAddress.Loopback, 0), new Controller(i))).ToList();
        Console.WriteLine(string.Join(' ', servers.Select(s => s.Endpoint.Port)));
        await Console.In.ReadToEndAsync(cancellation);
        foreach (var server in servers)
        {
            await server.DisposeAsync();
        }
    }

    private sealed class Controller(int seed) : IModbusDataSource
    {
        private readonly Random _random = new(seed);
        private readonly ushort[] _registers = new ushort[Tags + 1];
        private readonly Lock _gate = new();
        private uint _nextChange;
        private uint _nextStep;

        public ModbusExceptionCode? ReadBits(byte unit, ModbusTable table, ushort address, Span<bool> destination) => ModbusExceptionCode.IllegalDataAddress;

        public ModbusExceptionCode? ReadRegisters(byte unit, ModbusTable table, ushort address, Span<ushort> destination)
        {
            if (address + destination.Length > _registers.Length)
            {
                return ModbusExceptionCode.IllegalDataAddress;
            }

            lock (_gate)
            {
                Advance(Now);
                _registers.AsSpan(address, destination.Length).CopyTo(destination);
            }

            return null;
        }

        public IReadOnlyDictionary<byte, string> Identify(byte unit) => new Dictionary<byte, string>();

        /// <summary>The change is dated to when it was due, not to when it is read.</summary>
        private void Advance(uint now)
        {
            while (_nextChange <= now)
            {
                _nextChange = _nextChange == 0 ? now : _nextChange;
                _registers[0] = (ushort)(_nextChange >> 16);
                _registers[1] = (ushort)_nextChange;
                for (var i = 10; i < 40; i++)
                {
                    _registers[i] = (ushort)(2000 + (i * 10) + _random.Next(4));
                }

                _nextChange += (uint)_random.Next(2_000, 6_000);
            }

            if (_nextStep <= now)
            {
                _registers[2] = (ushort)((_registers[2] + 1) % 8);
                _registers[3] ^= (ushort)(1 << _random.Next(16));
                _nextStep = now + 50_000;
            }
        }
    }
}
