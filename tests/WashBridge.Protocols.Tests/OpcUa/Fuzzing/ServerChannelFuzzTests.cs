using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// The server's channel against clients that mutate everything: hello, opening, chunks and messages, without protection and, once the handshake is
/// done, under keys that they share with the server.
/// </summary>
public sealed class ServerChannelFuzzTests(ITestOutputHelper log)
{
    [Fact]
    public Task A_client_without_protection_can_do_no_harm() => RunAsync(SecurityPolicy.None, MessageSecurityMode.None, 40_000);

    [Fact]
    public Task A_client_that_signs_can_do_no_harm() => RunAsync(SecurityPolicy.Basic256Sha256, MessageSecurityMode.Sign, 10_000);

    [Fact]
    public Task A_client_that_encrypts_can_do_no_harm() => RunAsync(SecurityPolicy.Aes256Sha256RsaPss, MessageSecurityMode.SignAndEncrypt, 10_000);

    private async Task RunAsync(SecurityPolicy policy, MessageSecurityMode mode, int messages)
    {
        var run = new FuzzRun(log, messages);
        var corpus = MessageCorpus.Requests(run.Random);
        var client = new HostileClient(run.Random, policy, mode);
        await run.ForEachAsync(corpus.Next, client.Send);
        log.WriteLine($"{client.Handshakes} handshakes, {client.Served} requests served, {client.Refused} refused, {client.Ends} channels closed");
        Assert.NotEqual(0, client.Served);
        Assert.NotEqual(0, client.Refused);
        Assert.NotEqual(0, client.Ends);
    }
}
