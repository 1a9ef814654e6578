using System.Net;
using WashBridge.Protocols.Modbus;

namespace WashBridge.EndToEnd.Tests.Modbus;

/// <summary>Our server read by the clients of other libraries; each also tries to write, and must be refused.</summary>
public sealed class OurServerTests
{
    private static ModbusServer Serve() => ModbusServer.Start(new IPEndPoint(IPAddress.Loopback, 0), new AddressSource());

    [Fact]
    public async Task The_client_of_libmodbus_reads_it_and_cannot_write()
    {
        await using var server = Serve();
        Assert.Equal((0, "OK"), await PeerProcess.RunAsync(PeerProcess.Built("libmodbus_client"), $"{server.Endpoint.Port}", "check"));
    }

    [Fact]
    public async Task The_client_of_pymodbus_reads_it_and_cannot_write()
    {
        await using var server = Serve();
        Assert.Equal((0, "OK"), await PeerProcess.RunAsync("/usr/bin/python3", "pymodbus_client.py", $"{server.Endpoint.Port}"));
    }

    /// <summary>mbpoll counts addresses from 1; its types: 0 coils, 1 discrete inputs, 3 input registers, 4 holding registers.</summary>
    [Theory]
    [InlineData("0", "[2]: \t1")]
    [InlineData("1", "[2]: \t1")]
    [InlineData("3", "[2]: \t1")]
    [InlineData("4", "[10]: \t9")]
    public async Task Mbpoll_reads_every_table(string type, string expected)
    {
        await using var server = Serve();
        var (exitCode, output) = await PollAsync(server, "-t", type, "-r", "1", "-c", "10");
        Assert.True(exitCode == 0, output);
        Assert.Contains(expected, output, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Mbpoll_is_told_what_does_not_exist_and_what_is_not_allowed()
    {
        await using var server = Serve();
        var (_, missing) = await PollAsync(server, "-t", "4", "-r", "2001", "-c", "1");
        Assert.Contains("Illegal data address", missing, StringComparison.Ordinal);
        var (_, refused) = await PollAsync(server, ["-t", "4", "-r", "1"], values: ["5"]);
        Assert.Contains("Illegal function", refused, StringComparison.Ordinal);
    }

    private static Task<(int ExitCode, string Output)> PollAsync(ModbusServer server, params string[] arguments) => PollAsync(server, arguments, values: []);

    private static Task<(int ExitCode, string Output)> PollAsync(ModbusServer server, string[] arguments, string[] values) =>
        PeerProcess.RunAsync("mbpoll", ["-m", "tcp", "-p", $"{server.Endpoint.Port}", "-a", "1", "-1", .. arguments, "127.0.0.1", .. values]);
}
