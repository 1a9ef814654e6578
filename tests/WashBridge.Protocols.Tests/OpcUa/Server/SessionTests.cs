using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Server;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>The life of a session (OPC 10000-4, 5.7).</summary>
public sealed class SessionTests
{
    private readonly FakeConnection connection = new();

    private static CancellationToken Cancellation => TestContext.Current.CancellationToken;

    /// <summary>5.7.2.2: revised to between the limits; what is not a time gets the longest.</summary>
    [Theory]
    [InlineData(1, 10_000)]
    [InlineData(60_000, 60_000)]
    [InlineData(1e12, 3_600_000)]
    [InlineData(0, 3_600_000)]
    [InlineData(-1, 3_600_000)]
    [InlineData(double.NaN, 3_600_000)]
    public void The_time_out_is_revised(double asked, double granted) =>
        Assert.Equal(granted, new ServerFixture().Host.Sessions.Create(connection, ServerFixture.SessionRequest(timeout: asked)).RevisedSessionTimeout);

    [Fact]
    public async Task A_session_that_is_not_used_ends_and_leaves_its_subscriptions()
    {
        var server = new ServerFixture();
        var session = await server.ConnectAsync(connection, timeout: 20_000);
        server.Subscribe(session, interval: 1000, lifetime: 1000, keepAlive: 300);
        server.Publish(session, connection);
        server.Publish(session, connection);
        server.Advance(15_000);
        server.Host.Sessions.Use(connection, session.AuthenticationToken);
        server.Advance(19_999);
        server.Host.Sessions.Sweep();
        Assert.Equal(1, server.Host.Sessions.Count);
        server.Advance(1);
        server.Host.Sessions.Sweep();
        Assert.True(connection.TakePublish().Message.IsKeepAlive);
        Assert.Equal(StatusCodes.BadSessionClosed, connection.Take().Status);
        Assert.Equal((0, 1), (server.Host.Sessions.Count, server.Subscriptions.Count));
        Assert.False(connection.HasSession);
        Fault(StatusCodes.BadSessionIdInvalid, () => server.Host.Sessions.Use(connection, session.AuthenticationToken));
    }

    [Fact]
    public async Task A_request_needs_an_activated_session_of_its_channel()
    {
        var server = new ServerFixture();
        var created = server.Host.Sessions.Create(connection, ServerFixture.SessionRequest());
        await AskAsync(StatusCodes.BadSessionNotActivated, connection, created.AuthenticationToken);
        await AskAsync(StatusCodes.BadSecureChannelIdInvalid, new FakeConnection(), created.AuthenticationToken);
        await AskAsync(StatusCodes.BadSessionIdInvalid, connection, NodeId.Null);
        await AskAsync(StatusCodes.BadSessionIdInvalid, connection, new NodeId(0, new byte[32]));
        await server.Host.Sessions.ActivateAsync(connection, created.AuthenticationToken, ServerFixture.Activation(), Cancellation);
        await AskAsync(StatusCodes.Good, connection, created.AuthenticationToken);
        server.Host.Sessions.Close(connection, created.AuthenticationToken, new CloseSessionRequest(true));
        await AskAsync(StatusCodes.BadSessionIdInvalid, connection, created.AuthenticationToken);

        async Task AskAsync(StatusCode expected, FakeConnection by, NodeId token)
        {
            using var request = Requests.Of(new ReadRequest(0, TimestampsToReturn.Both, [new ReadValueId(new NodeId(2258), AttributeIds.Value, null, default)]), token);
            await server.Host.AnswerAsync(by, request, Cancellation);
            Assert.Equal(expected, by.Take().Status);
        }
    }

    [Fact]
    public void Tokens_and_nonces_are_never_the_same()
    {
        var server = new ServerFixture();
        var (first, second) = (server.Host.Sessions.Create(connection, ServerFixture.SessionRequest()), server.Host.Sessions.Create(connection, ServerFixture.SessionRequest()));
        Assert.NotEqual(first.AuthenticationToken, second.AuthenticationToken);
        Assert.NotEqual(first.ServerNonce, second.ServerNonce);
        Assert.Equal(32, first.AuthenticationToken.Opaque.Length);
    }

    /// <summary>5.7.2.1: sessions that nobody activates must not keep others out.</summary>
    [Fact]
    public async Task The_oldest_session_that_nobody_activated_gives_way()
    {
        var server = new ServerFixture(new UaServerLimits { MaxSessions = 3, MaxUnactivatedSessions = 2 });
        var used = await server.ConnectAsync(connection);
        var oldest = server.Host.Sessions.Create(connection, ServerFixture.SessionRequest());
        server.Advance(1);
        var newer = server.Host.Sessions.Create(connection, ServerFixture.SessionRequest());
        server.Advance(1);
        var newest = server.Host.Sessions.Create(connection, ServerFixture.SessionRequest());
        Assert.Equal(3, server.Host.Sessions.Count);
        await Assert.ThrowsAsync<UaException>(async () => await server.Host.Sessions.ActivateAsync(connection, oldest.AuthenticationToken, ServerFixture.Activation(), Cancellation));
        await server.Host.Sessions.ActivateAsync(connection, newer.AuthenticationToken, ServerFixture.Activation(), Cancellation);
        await server.Host.Sessions.ActivateAsync(connection, newest.AuthenticationToken, ServerFixture.Activation(), Cancellation);
        Fault(StatusCodes.BadTooManySessions, () => server.Host.Sessions.Create(connection, ServerFixture.SessionRequest()));
        server.Host.Sessions.Use(connection, used.AuthenticationToken);
    }

    [Fact]
    public async Task A_lost_connection_ends_sessions_that_were_not_activated_and_no_others()
    {
        var server = new ServerFixture();
        await server.ConnectAsync(connection);
        server.Host.Sessions.Create(connection, ServerFixture.SessionRequest());
        server.Host.Sessions.Disconnected(connection);
        Assert.Equal(1, server.Host.Sessions.Count);
    }

    [Fact]
    public async Task What_goes_wrong_inside_is_told_as_an_internal_error_and_nothing_more()
    {
        var server = new ServerFixture();
        var session = await server.ConnectAsync(connection);
        server.Space.Add(server.Space.Objects, server.Space.TypeOf(new NodeId(47)), new NodeId(63), new UaVariable(server.Id("X"), new QualifiedName(2, "X"), new VariableDefinition(BuiltInType.Double), server.Time, static () => throw new InvalidOperationException("secret")));
        using var request = Requests.Of(new ReadRequest(0, TimestampsToReturn.Both, [new ReadValueId(server.Id("X"), AttributeIds.Value, null, default)]), session.AuthenticationToken);
        await server.Host.AnswerAsync(connection, request, Cancellation);
        Assert.Equal(StatusCodes.BadInternalError, connection.Take().Status);
    }

    [Fact]
    public async Task A_request_that_cannot_be_decoded_is_answered_with_that()
    {
        var server = new ServerFixture();
        var session = await server.ConnectAsync(connection);
        using var request = Requests.Empty(ReadRequest.EncodingId, session.AuthenticationToken);
        await server.Host.AnswerAsync(connection, request, Cancellation);
        Assert.Equal(StatusCodes.BadDecodingError, connection.Take().Status);
    }

    private static void Fault(StatusCode expected, Action call) => Assert.Equal(expected, Assert.Throws<UaException>(call).Status);
}
