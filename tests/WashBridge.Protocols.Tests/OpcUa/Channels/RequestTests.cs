using WashBridge.Protocols.OpcUa.Security;

namespace WashBridge.Protocols.Tests.OpcUa.Channels;

/// <summary>Requests and responses through an open channel.</summary>
public sealed class RequestTests
{
    public static TheoryData<string, MessageSecurityMode> Protections()
    {
        var all = new TheoryData<string, MessageSecurityMode> { { "None", MessageSecurityMode.None } };
        foreach (var policy in SecurityPolicy.All.Where(p => !p.IsNone))
        {
            all.Add(policy.Name, MessageSecurityMode.Sign);
            all.Add(policy.Name, MessageSecurityMode.SignAndEncrypt);
        }

        return all;
    }

    [Theory]
    [MemberData(nameof(Protections))]
    public async Task A_request_is_answered_under_every_policy_and_mode(string policyName, MessageSecurityMode mode)
    {
        var policy = SecurityPolicy.FindByName(policyName);
        await using var pair = await ChannelPair.OpenAsync(policy!.IsNone ? null : policy, mode);
        var serving = pair.ServeAsync();

        // Every length of the last block, and messages of several chunks.
        foreach (var nodes in (int[])[1, 2, 3, 4, 5, 6, 7, 8, 60, 500, 3000, 20_000])
        {
            var response = await pair.ReadAsync(nodes);

            Assert.Equal(nodes, response.Body.Results.Count);
            Assert.Equal((uint)nodes, response.Body.Results[^1].Value.Value);
            Assert.Equal(Messages.ServerTime, response.ServerTime);
        }

        await pair.Client.DisposeAsync();
        await serving;
    }

    [Theory]
    [MemberData(nameof(Protections))]
    public async Task Channels_work_over_sockets(string policyName, MessageSecurityMode mode)
    {
        var found = SecurityPolicy.FindByName(policyName)!;
        var policy = found.IsNone ? null : found;
        await using var pair = await ChannelPair.OverSocketsAsync(ChannelPair.ClientOptions(policy, mode), ChannelPair.ServerOptions(policy, mode));
        var serving = pair.ServeAsync();

        var responses = await Task.WhenAll(Enumerable.Range(1, 50).Select(nodes => pair.ReadAsync(nodes * 10)));

        Assert.Equal(Enumerable.Range(1, 50).Select(nodes => nodes * 10), responses.Select(r => r.Body.Results.Count));
        Assert.All(responses, r => Assert.True(r.Sent < r.Received));
        await pair.Client.DisposeAsync();
        await serving;
    }
}
