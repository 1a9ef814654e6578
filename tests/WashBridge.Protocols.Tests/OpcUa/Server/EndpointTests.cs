using System.Net;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>What is told without a session (OPC 10000-4, 5.5).</summary>
public sealed class EndpointTests
{
    private readonly EndpointList endpoints = new(
        new UaServerOptions { Endpoints = [ServerEndpoint.Unprotected], AllowAnonymous = true, HostNames = ["washer-7", "192.0.2.7", "fd00::7"], Path = "/line", ApplicationUri = "urn:test:server" },
        4841);

    [Theory]
    [InlineData(null, "opc.tcp://washer-7:4841/line")]
    [InlineData("opc.tcp://WASHER-7:4840", "opc.tcp://washer-7:4841/line")]
    [InlineData("opc.tcp://192.0.2.7:1/x", "opc.tcp://192.0.2.7:4841/line")]
    [InlineData("opc.tcp://[fd00::7]:4841", "opc.tcp://[fd00::7]:4841/line")]
    [InlineData("opc.tcp://somewhere.else:4841", "opc.tcp://washer-7:4841/line")]
    [InlineData("no url", "opc.tcp://washer-7:4841/line")]
    [InlineData("opc.tcp://127.0.\uFFFD\u069C\uFFFD:4840", "opc.tcp://washer-7:4841/line")]
    public void A_client_is_told_the_name_that_it_used_if_that_is_ours(string? used, string told)
    {
        Assert.Equal(told, endpoints.GetEndpoints(new GetEndpointsRequest(used, [], [])).Endpoints.Single().EndpointUrl);
        Assert.Equal([told], endpoints.FindServers(new FindServersRequest(used, [], [])).Servers.Single().DiscoveryUrls);
    }

    /// <summary>5.5.4.2 and 5.5.2.2: only what matches the filters.</summary>
    [Fact]
    public void Profiles_and_servers_that_are_not_ours_get_nothing()
    {
        Assert.Empty(endpoints.GetEndpoints(new GetEndpointsRequest(null, [], ["http://opcfoundation.org/UA-Profile/Transport/https-uabinary"])).Endpoints);
        Assert.Single(endpoints.GetEndpoints(new GetEndpointsRequest(null, [], ["http://opcfoundation.org/UA-Profile/Transport/uatcp-uasc-uabinary"])).Endpoints);
        Assert.Empty(endpoints.FindServers(new FindServersRequest(null, [], ["urn:other"])).Servers);
        Assert.Single(endpoints.FindServers(new FindServersRequest(null, [], ["urn:test:server"])).Servers);
    }

    [Theory]
    [InlineData("127.0.0.1", "opc.tcp://127.0.0.1:4841")]
    [InlineData("::1", "opc.tcp://[::1]:4841")]
    public void Without_names_the_listen_address_is_told(string listen, string told) =>
        Assert.Equal(told, new EndpointList(new UaServerOptions { ListenAddress = IPAddress.Parse(listen), Endpoints = [ServerEndpoint.Unprotected] }, 4841).All(null)[0].EndpointUrl);

    [Fact]
    public void Options_that_do_not_go_together_are_refused()
    {
        var good = new UaServerOptions { Endpoints = [ServerEndpoint.Unprotected], AllowAnonymous = true };
        good.Validate();
        Refused(good with { Endpoints = [] }, "endpoint");
        Refused(good with { Endpoints = ServerEndpoint.Protected }, "certificate");
        Refused(good with { Endpoints = [ServerEndpoint.Protected[0] with { Mode = WashBridge.Protocols.OpcUa.Security.MessageSecurityMode.None }] }, "mode None");
        Refused(good with { AllowAnonymous = false }, "nobody may log in");
        Refused(good with { Users = new SecuredFixture.UserTable() }, "passwords need a certificate");
        Refused(good with { Path = "line" }, "path");
        Refused(good with { Port = 65_536 }, "65535");
        Refused(good with { Limits = new UaServerLimits { MinSessionTimeout = TimeSpan.FromHours(1), MaxSessionTimeout = TimeSpan.FromMinutes(1) } }, "MinSessionTimeout");

        static void Refused(UaServerOptions options, string words) =>
            Assert.Contains(words, Assert.ThrowsAny<ArgumentException>(options.Validate).Message, StringComparison.Ordinal);
    }
}
