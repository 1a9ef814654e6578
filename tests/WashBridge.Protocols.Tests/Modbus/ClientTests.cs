using CsCheck;
using Microsoft.Extensions.Time.Testing;
using WashBridge.Protocols.Modbus;

namespace WashBridge.Protocols.Tests.Modbus;

/// <summary>The client against a peer made of script: answers whole, in pieces, out of order, late, wrong, or never.</summary>
public sealed class ClientTests
{
    private const ModbusTable Holding = ModbusTable.HoldingRegisters;

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    /// <summary>Three answers: in one piece, cut at every byte, and byte by byte.</summary>
    [Fact]
    public async Task However_answers_are_cut_or_joined_the_values_are_the_same()
    {
        var length = Answers(1).Length;
        for (var cut = 0; cut <= length; cut++)
        {
            await ReadThreeAsync(answers => [answers[..cut], answers[cut..]]);
        }

        await ReadThreeAsync(answers => answers.Select(b => new[] { b }));

        static byte[] Answers(ushort first) => [.. Enumerable.Range(first, 3).SelectMany(t => Frames.Registers((ushort)t, 1, (ushort)(100 * t), 7))];

        static async Task ReadThreeAsync(Func<byte[], IEnumerable<byte[]>> cut)
        {
            var stream = new ScriptedStream();
            await using var client = Clients.Over(stream, inFlight: 3);
            var registers = Enumerable.Range(0, 3).Select(_ => new ushort[2]).ToArray();
            var reads = registers.Select(r => client.AskRegisters(1, Holding, 5, r)).ToArray();
            foreach (var piece in cut(Answers(1)).Where(p => p.Length > 0))
            {
                stream.Feed(piece);
            }

            await Task.WhenAll(reads);
            Assert.Equal([[100, 7], [200, 7], [300, 7]], registers);
        }
    }

    [Fact]
    public async Task Any_answers_in_any_order_in_any_pieces_reach_their_requests() =>
        await Gen.Select(Gen.Shuffle(Enumerable.Range(0, 16).ToArray()), Gen.Int[1, 60].Array[1, 40], Gen.UShort.Array[16]).SampleAsync(
            async (order, sizes, values) =>
            {
                var stream = new ScriptedStream();
                await using var client = Clients.Over(stream, inFlight: 16);
                var registers = values.Select(_ => new ushort[1]).ToArray();
                var reads = registers.Select((r, i) => client.AskRegisters((byte)i, Holding, (ushort)i, r)).ToArray();
                var answers = order.SelectMany(i => Frames.Registers((ushort)(i + 1), (byte)i, values[i])).ToArray();
                for (int at = 0, n = 0; at < answers.Length; n++)
                {
                    var size = Math.Min(sizes[n % sizes.Length], answers.Length - at);
                    stream.Feed(answers.AsSpan(at, size));
                    at += size;
                }

                await Task.WhenAll(reads);
                Assert.Equal(values, registers.Select(r => r[0]));
            },
            iter: 200,
            threads: 1);

    [Fact]
    public async Task The_timing_encloses_the_moment_at_which_the_device_answered()
    {
        var time = new FakeTimeProvider();
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream, time: time);
        var before = time.GetTimestamp();
        var read = client.AskRegisters(1, Holding, 0, new ushort[1]);
        await stream.WrittenAsync();
        time.Advance(TimeSpan.FromMilliseconds(20));
        stream.Feed(Frames.Registers(1, 1, 42).AsSpan(0, 5));
        await stream.TakenAsync(1);
        time.Advance(TimeSpan.FromMilliseconds(5));
        stream.Feed(Frames.Registers(1, 1, 42).AsSpan(5));
        var timing = await read;
        Assert.Equal(before, timing.Sent);
        Assert.Equal(TimeSpan.FromMilliseconds(25), timing.RoundTrip(time));
    }

    [Fact]
    public async Task A_late_answer_is_never_taken_for_that_of_the_next_request()
    {
        var time = new FakeTimeProvider();
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream, time: time);
        ushort[] first = [0], second = [0];
        var late = client.AskRegisters(1, Holding, 0, first);
        var lateRequest = await stream.WrittenAsync();
        time.Advance(Clients.Timeout - TimeSpan.FromTicks(1));
        Assert.False(late.IsCompleted);
        time.Advance(TimeSpan.FromTicks(1));
        var timeout = await Assert.ThrowsAsync<ModbusTimeoutException>(() => late);
        Assert.True(timeout.IsTransient);
        Assert.True(client.IsConnected);

        var next = client.AskRegisters(1, Holding, 0, second);
        var nextRequest = await stream.WrittenAsync();
        Assert.NotEqual(Frames.Transaction(lateRequest), Frames.Transaction(nextRequest));
        stream.Feed(Frames.Registers(Frames.Transaction(lateRequest), 1, 111));
        stream.Feed(Frames.Registers(Frames.Transaction(nextRequest), 1, 222));
        await next;
        Assert.Equal((0, 222), (first[0], second[0]));
        Assert.Equal((1, 0), (client.LateReplies, client.StrayReplies));
    }

    /// <summary>65,535 more requests go round all transaction ids: the one whose answer is still owed is left out, until it has come.</summary>
    [Fact]
    public async Task An_id_is_not_used_again_while_its_answer_may_still_come()
    {
        var time = new FakeTimeProvider();
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream, time: time);
        var register = new ushort[1];
        var late = client.AskRegisters(1, Holding, 0, register);
        var owed = Frames.Transaction(await stream.WrittenAsync());
        time.Advance(Clients.Timeout);
        await Assert.ThrowsAsync<ModbusTimeoutException>(() => late);

        var used = new HashSet<ushort>();
        for (var i = 0; i < 65535; i++)
        {
            used.Add(await ReadOnceAsync());
        }

        Assert.Equal(65535, used.Count);
        Assert.DoesNotContain(owed, used);
        stream.Feed(Frames.Registers(owed, 1, 1));
        await ReadOnceAsync();
        Assert.Equal(1, client.LateReplies);
        for (var i = 0; i < 65536; i++)
        {
            used.Add(await ReadOnceAsync());
        }

        Assert.Contains(owed, used);

        async Task<ushort> ReadOnceAsync()
        {
            var read = client.AskRegisters(1, Holding, 0, register);
            var transaction = Frames.Transaction(await stream.WrittenAsync());
            stream.Feed(Frames.Registers(transaction, 1, 1));
            await read;
            return transaction;
        }
    }

    [Fact]
    public async Task A_peer_that_owes_too_many_answers_is_given_up()
    {
        var time = new FakeTimeProvider();
        var stream = new ScriptedStream();
        await using var client = new ModbusClient(
            stream, null, new ModbusClientOptions { Host = "silent", Timeout = TimeSpan.FromMilliseconds(100), LateReplyWindow = TimeSpan.FromMinutes(1) }, null, time);
        for (var i = 0; i < 16; i++)
        {
            var read = client.AskRegisters(1, Holding, 0, new ushort[1]);
            time.Advance(TimeSpan.FromMilliseconds(100));
            await Assert.ThrowsAsync<ModbusTimeoutException>(() => read);
        }

        var last = client.AskRegisters(1, Holding, 0, new ushort[1]);
        time.Advance(TimeSpan.FromMilliseconds(100));
        var lost = await Assert.ThrowsAsync<ModbusConnectionException>(() => last);
        Assert.Contains("16 answers are overdue", lost.Message, StringComparison.Ordinal);
        Assert.True(stream.IsDisposed);
    }

    [Fact]
    public async Task A_slow_peer_may_be_late_for_ever_as_long_as_old_debts_lapse()
    {
        var time = new FakeTimeProvider();
        await using var client = new ModbusClient(
            new ScriptedStream(), null, new ModbusClientOptions { Host = "silent", Timeout = TimeSpan.FromSeconds(1), LateReplyWindow = TimeSpan.FromSeconds(10) }, null, time);
        for (var i = 0; i < 100; i++)
        {
            var read = client.AskRegisters(1, Holding, 0, new ushort[1]);
            time.Advance(TimeSpan.FromSeconds(1));
            await Assert.ThrowsAsync<ModbusTimeoutException>(() => read);
        }

        Assert.True(client.IsConnected);
    }

    [Fact]
    public async Task Time_outs_are_judged_one_by_one()
    {
        var time = new FakeTimeProvider();
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream, inFlight: 2, time);
        ushort[] second = [0];
        var first = client.AskRegisters(1, Holding, 0, new ushort[1]);
        time.Advance(Clients.Timeout / 2);
        var later = client.AskRegisters(1, Holding, 1, second);
        time.Advance(Clients.Timeout / 2);
        await Assert.ThrowsAsync<ModbusTimeoutException>(() => first);
        Assert.False(later.IsCompleted);
        stream.Feed(Frames.Registers(2, 1, 5));
        await later;
        Assert.Equal(5, second[0]);

        var third = client.AskRegisters(1, Holding, 0, new ushort[1]);
        time.Advance(Clients.Timeout);
        await Assert.ThrowsAsync<ModbusTimeoutException>(() => third);
    }

    [Fact]
    public async Task A_cancelled_request_leaves_the_connection_usable_and_its_buffer_alone()
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream);
        using var cancelled = new CancellationTokenSource();
        ushort[] first = [9], second = [0];
        var read = client.ReadRegistersAsync(1, Holding, 0, first, cancelled.Token).AsTask();
        await stream.WrittenAsync();
        await cancelled.CancelAsync();
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => read);
        await Assert.ThrowsAnyAsync<OperationCanceledException>(() => client.ReadRegistersAsync(1, Holding, 0, first, cancelled.Token).AsTask());

        var next = client.AskRegisters(1, Holding, 0, second);
        await stream.WrittenAsync();
        stream.Feed(Frames.Registers(1, 1, 111));
        stream.Feed(Frames.Registers(2, 1, 222));
        await next;
        Assert.Equal((9, 222), (first[0], second[0]));
    }

    [Fact]
    public async Task A_stray_answer_is_dropped_and_a_flood_of_them_ends_the_connection()
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream);
        ushort[] register = [0];
        for (var i = 0; i < 15; i++)
        {
            stream.Feed(Frames.Registers(40000, 1, 1));
        }

        stream.Feed(Frames.Registers(1, 1, 7));
        await client.AskRegisters(1, Holding, 0, register);
        Assert.Equal((7, 15L), ((int)register[0], client.StrayReplies));

        for (var i = 0; i < 16; i++)
        {
            stream.Feed(Frames.Registers(40000, 1, 1));
        }

        await Assert.ThrowsAsync<ModbusProtocolException>(() => client.AskRegisters(1, Holding, 0, register));
        Assert.True(stream.IsDisposed);
    }

    /// <summary>Nothing after such an answer can be trusted: the connection is closed with the reason.</summary>
    [Theory]
    [InlineData("00 01 00 01 00 05 01 03 02 00 07", "protocol id 1 instead of 0")]
    [InlineData("00 01 00 00 00 00 01", "length 0 instead of 3 to 254")]
    [InlineData("00 01 00 00 00 02 01 03", "length 2 instead of 3 to 254")]
    [InlineData("00 01 00 00 00 FF 01 03", "length 255 instead of 3 to 254")]
    [InlineData("00 01 00 00 FF FF", "length 65535 instead of 3 to 254")]
    [InlineData("00 01 00 00 00 05 02 03 02 00 07", "unit 2 instead of 1")]
    [InlineData("00 01 00 00 00 05 01 04 02 00 07", "function 04 instead of 03")]
    [InlineData("00 01 00 00 00 03 01 84 02", "function 84 instead of 03")]
    [InlineData("00 01 00 00 00 04 01 83 02 00", "exception of 3 bytes instead of 2")]
    [InlineData("00 01 00 00 00 05 01 03 04 00 07", "byte count 4 instead of 2")]
    [InlineData("00 01 00 00 00 04 01 03 02 00", "1 data bytes instead of 2")]
    [InlineData("00 01 00 00 00 06 01 03 02 00 07 00", "3 data bytes instead of 2")]
    [InlineData("48 54 54 50 2F 31 2E 31 20 34", "protocol id 21584 instead of 0")]
    public async Task An_answer_that_breaks_the_protocol_closes_the_connection(string answer, string reason)
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream, inFlight: 2);
        ushort[] register = [9];
        var asked = client.AskRegisters(1, Holding, 0, register);
        var other = client.AskRegisters(1, Holding, 0, register);
        stream.Feed(Hex.Bytes(answer));
        var broken = await Assert.ThrowsAsync<ModbusProtocolException>(() => asked);
        Assert.Contains(reason, broken.Message, StringComparison.Ordinal);
        Assert.False(broken.IsTransient);
        await Assert.ThrowsAnyAsync<ModbusException>(() => other);
        Assert.True(stream.IsDisposed);
        Assert.Equal(9, register[0]);

        // The first cause stays known.
        var later = await Assert.ThrowsAsync<ModbusConnectionException>(() => client.AskRegisters(1, Holding, 0, register));
        Assert.Same(broken, later.InnerException);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(3)]
    [InlineData(10)]
    public async Task A_peer_that_vanishes_before_or_amid_an_answer_fails_every_request(int bytesBefore)
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream, inFlight: 2);
        var first = client.AskRegisters(1, Holding, 0, new ushort[1]);
        var second = client.AskBits(1, ModbusTable.Coils, 0, new bool[9]);
        if (bytesBefore > 0)
        {
            stream.Feed(Frames.Registers(1, 1, 7).AsSpan(0, bytesBefore));
        }

        stream.End();
        Assert.True((await Assert.ThrowsAsync<ModbusConnectionException>(() => first)).IsTransient);
        await Assert.ThrowsAsync<ModbusConnectionException>(() => second);
        Assert.False(client.IsConnected);
    }

    [Fact]
    public async Task Closing_fails_what_is_on_its_way()
    {
        var client = Clients.Over(new ScriptedStream());
        var read = client.AskRegisters(1, Holding, 0, new ushort[1]);
        await client.DisposeAsync();
        await Assert.ThrowsAsync<ModbusConnectionException>(() => read);
        await client.DisposeAsync();
    }

    [Theory]
    [InlineData(ModbusExceptionCode.IllegalFunction, false)]
    [InlineData(ModbusExceptionCode.IllegalDataAddress, false)]
    [InlineData(ModbusExceptionCode.IllegalDataValue, false)]
    [InlineData(ModbusExceptionCode.ServerDeviceFailure, false)]
    [InlineData(ModbusExceptionCode.Acknowledge, true)]
    [InlineData(ModbusExceptionCode.ServerDeviceBusy, true)]
    [InlineData(ModbusExceptionCode.MemoryParityError, false)]
    [InlineData(ModbusExceptionCode.GatewayPathUnavailable, true)]
    [InlineData(ModbusExceptionCode.GatewayTargetFailedToRespond, true)]
    [InlineData((ModbusExceptionCode)0x7E, false)]
    public async Task An_exception_says_whether_it_passes_by_itself(ModbusExceptionCode code, bool isTransient)
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream);
        stream.Feed(Frames.Bytes(1, 1, [0x83, (byte)code]));
        var refusal = await Assert.ThrowsAsync<ModbusDeviceException>(() => client.AskRegisters(1, Holding, 0, new ushort[1]));
        Assert.Equal((code, isTransient), (refusal.Code, refusal.IsTransient));
        Assert.True(client.IsConnected);
    }

    [Fact]
    public async Task More_requests_than_agreed_are_a_mistake_of_the_caller()
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream, inFlight: 2);
        var first = client.AskRegisters(1, Holding, 0, new ushort[1]);
        var second = client.AskRegisters(1, Holding, 0, new ushort[1]);
        await Assert.ThrowsAsync<InvalidOperationException>(() => client.AskRegisters(1, Holding, 0, new ushort[1]));
        stream.Feed(Frames.Registers(2, 1, 1));
        stream.Feed(Frames.Registers(1, 1, 1));
        await Task.WhenAll(first, second);
        Assert.True(client.IsConnected);
    }

    [Theory]
    [InlineData(Holding, 0, 0)]
    [InlineData(Holding, 0, 126)]
    [InlineData(Holding, 65535, 2)]
    [InlineData(ModbusTable.Coils, 0, 1)]
    public async Task A_read_beyond_the_limits_is_never_sent(ModbusTable table, ushort address, int quantity)
    {
        await using var client = Clients.Over(new ScriptedStream());
        await Assert.ThrowsAsync<ArgumentOutOfRangeException>(async () => await client.ReadRegistersAsync(1, table, address, new ushort[quantity], Cancellation));
        await Assert.ThrowsAsync<ArgumentOutOfRangeException>(async () => await client.ReadBitsAsync(1, Holding, 0, new bool[1], Cancellation));
        await Assert.ThrowsAsync<ArgumentOutOfRangeException>(async () => await client.ReadBitsAsync(1, ModbusTable.Coils, 0, new bool[2001], Cancellation));
    }

    [Theory]
    [InlineData("AB 0D 01", "exception of 3 bytes instead of 2")]
    [InlineData("2B 0E 01 01 FF 00 00", "not beyond object 0")]
    [InlineData("2B 0D 01 01 00 00 00", "no identification")]
    [InlineData("2B 0E 01 01 00", "no identification")]
    [InlineData("2B 0E 01 01 00 00 01 00 05 41", "longer than the message")]
    [InlineData("2B 0E 01 01 00 00 00 00", "after the last object")]
    public async Task An_identification_that_misleads_closes_the_connection(string answer, string reason)
    {
        var stream = new ScriptedStream();
        await using var client = Clients.Over(stream);
        stream.Feed(Frames.Bytes(1, 1, Hex.Bytes(answer)));
        var broken = await Assert.ThrowsAsync<ModbusProtocolException>(() => client.ReadDeviceIdentificationAsync(1, cancellation: Cancellation));
        Assert.Contains(reason, broken.Message, StringComparison.Ordinal);
        Assert.True(stream.IsDisposed);
    }

    [Theory]
    [InlineData(0, 1, 1)]
    [InlineData(502, 0, 1)]
    [InlineData(502, 17, 1)]
    [InlineData(502, 1, 0)]
    [InlineData(65536, 1, 1)]
    public void Options_out_of_range_are_refused(int port, int inFlight, int seconds) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new ModbusClientOptions { Host = "h", Port = port, InFlight = inFlight, Timeout = TimeSpan.FromSeconds(seconds) }.Validate());
}
