using Microsoft.Extensions.Logging.Abstractions;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>
/// The example messages of the MODBUS application protocol specification V1.1b3 (section named in each row),
/// through our client and through our server, byte for byte.
/// </summary>
public sealed class PublishedFramesTests
{
    private const byte Unit = 1;

    /// <summary>V1.1b3, 6.1 to 6.4: function, zero-based address, quantity, request, reply.</summary>
    public static TheoryData<string, int, ushort, int, string, string> Reads { get; } = new()
    {
        { "V1.1b3 6.1: coils 20 to 38", 1, 0x0013, 0x13, "01 00 13 00 13", "01 03 CD 6B 05" },
        { "V1.1b3 6.2: discrete inputs 197 to 218", 2, 0x00C4, 0x16, "02 00 C4 00 16", "02 03 AC DB 35" },
        { "V1.1b3 6.3: holding registers 108 to 110", 3, 0x006B, 3, "03 00 6B 00 03", "03 06 02 2B 00 00 00 64" },
        { "V1.1b3 6.4: input register 9", 4, 0x0008, 1, "04 00 08 00 01", "04 02 00 0A" },
    };

    [Theory]
    [MemberData(nameof(Reads))]
    public async Task The_client_asks_and_understands_as_published(string clause, int function, ushort address, int quantity, string request, string reply)
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream);
        var registers = new ushort[quantity];
        var bits = new bool[quantity];
        var table = (ModbusTable)function;
        var read = function <= 2 ? client.AskBits(Unit, table, address, bits) : client.AskRegisters(Unit, table, address, registers);

        var sent = await stream.WrittenAsync();
        Assert.Equal(Frames.Of(1, Unit, request), Hex.Text(sent));
        stream.Feed(Hex.Bytes(Frames.Of(1, Unit, reply)));
        await read;

        var data = Hex.Bytes(reply)[2..];
        var expectedBits = Enumerable.Range(0, quantity).Select(i => (data[i / 8] >> (i % 8) & 1) == 1);
        if (function <= 2)
        {
            Assert.Equal(expectedBits, bits);
        }
        else
        {
            Assert.Equal(data.Chunk(2).Select(b => (b[0] << 8) | b[1]), registers.Select(r => (int)r));
        }

        Assert.NotEmpty(clause);
    }

    [Theory]
    [MemberData(nameof(Reads))]
    public void The_server_answers_as_published(string clause, int function, ushort address, int quantity, string request, string reply)
    {
        var source = new Given(Hex.Bytes(reply)[2..], address, quantity);
        var answer = new byte[Mbap.MaxPdu];
        var length = new RequestHandler(source, NullLogger.Instance).Answer(Unit, Hex.Bytes(request), answer);
        Assert.Equal(reply, Hex.Text(answer.AsSpan(0, length)));
        Assert.True(function == source.AskedFunction, clause);
    }

    /// <summary>V1.1b3, 7: reading output 1185 of a device that has not so many.</summary>
    [Fact]
    public async Task The_published_exception_is_an_illegal_address()
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream);
        var read = client.AskBits(Unit, ModbusTable.Coils, 0x04A1, new bool[1]);
        Assert.Equal(Frames.Of(1, Unit, "01 04 A1 00 01"), Hex.Text(await stream.WrittenAsync()));
        stream.Feed(Hex.Bytes(Frames.Of(1, Unit, "81 02")));

        var refusal = await Assert.ThrowsAsync<ModbusDeviceException>(() => read);
        Assert.Equal(ModbusExceptionCode.IllegalDataAddress, refusal.Code);
        Assert.Equal((1, 0x04A1, 1), (refusal.Function, refusal.Address, refusal.Quantity));
        Assert.False(refusal.IsTransient);
        Assert.True(refusal.IsRefusalOfRange);
        Assert.True(client.IsConnected);

        var answer = new byte[Mbap.MaxPdu];
        var source = new TableSource { Refused = { [0x04A1] = ModbusExceptionCode.IllegalDataAddress } };
        var length = new RequestHandler(source, NullLogger.Instance).Answer(Unit, Hex.Bytes("01 04 A1 00 01"), answer);
        Assert.Equal("81 02", Hex.Text(answer.AsSpan(0, length)));
    }

    /// <summary>Messaging on TCP/IP implementation guide V1.0b, 4.4.1.2: the request that reads register 5.</summary>
    [Fact]
    public void The_published_message_on_TCP_is_framed_as_published()
    {
        var adu = new byte[12];
        Mbap.Write(adu, 0x1501, 0xFF, ReadPdu.RequestSize);
        ReadPdu.WriteRequest(adu.AsSpan(Mbap.Size), ModbusTable.HoldingRegisters, 4, 1);
        Assert.Equal("15 01 00 00 00 06 FF 03 00 04 00 01", Hex.Text(adu));

        var buffer = new FrameBuffer(minimumPdu: 1);
        adu.CopyTo(buffer.Free());
        buffer.Received(adu.Length);
        Assert.Equal(FrameState.Complete, buffer.TryTake(out var header, out var pdu, out _));
        Assert.Equal(new Mbap(0x1501, 6, 0xFF), header);
        Assert.Equal("03 00 04 00 01", Hex.Text(pdu));
    }

    /// <summary>The published requests that write (V1.1b3, 6.5, 6.6, 6.11, 6.12): refused with exception 01, V1.1b3, 7.</summary>
    [Theory]
    [InlineData("05 00 AC FF 00", "85 01")]
    [InlineData("06 00 01 00 03", "86 01")]
    [InlineData("0F 00 13 00 0A 02 CD 01", "8F 01")]
    [InlineData("10 00 01 00 02 04 00 0A 01 02", "90 01")]
    public void The_server_refuses_every_published_write(string request, string reply)
    {
        var answer = new byte[Mbap.MaxPdu];
        var length = new RequestHandler(new TableSource(), NullLogger.Instance).Answer(Unit, Hex.Bytes(request), answer);
        Assert.Equal(reply, Hex.Text(answer.AsSpan(0, length)));
    }

    /// <summary>Holds what the published reply carries, and only at the published address.</summary>
    private sealed class Given(byte[] data, ushort address, int quantity) : IModbusDataSource
    {
        public int AskedFunction { get; private set; }

        public ModbusExceptionCode? ReadBits(byte unit, ModbusTable table, ushort from, Span<bool> destination)
        {
            for (var i = 0; i < destination.Length; i++)
            {
                destination[i] = (data[i / 8] >> (i % 8) & 1) == 1;
            }

            return Check(table, from, destination.Length);
        }

        public ModbusExceptionCode? ReadRegisters(byte unit, ModbusTable table, ushort from, Span<ushort> destination)
        {
            for (var i = 0; i < destination.Length; i++)
            {
                destination[i] = (ushort)((data[2 * i] << 8) | data[(2 * i) + 1]);
            }

            return Check(table, from, destination.Length);
        }

        public IReadOnlyDictionary<byte, string> Identify(byte unit) => new Dictionary<byte, string>();

        private ModbusExceptionCode? Check(ModbusTable table, ushort from, int count)
        {
            AskedFunction = (int)table;
            return (from, count) == (address, quantity) ? null : ModbusExceptionCode.IllegalDataAddress;
        }
    }
}
