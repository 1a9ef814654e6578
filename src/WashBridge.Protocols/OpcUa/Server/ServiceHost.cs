using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Encoding;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>
/// Answers requests: finds the session, calls the service, turns failures into faults. Requests of one connection come one after the other, those
/// of several at once.
/// </summary>
internal sealed partial class ServiceHost
{
    private readonly UaServerLimits limits;
    private readonly ServerLog log;
    private readonly TimeProvider time;
    private readonly ReadService reading;
    private readonly Browser browser;
    private readonly Lock gate = new();

    public ServiceHost(UaServerOptions options, AddressSpace space, EndpointList endpoints, ServerLog log, TimeProvider time)
    {
        (limits, this.log, this.time, Endpoints) = (options.Limits, log, time, endpoints);
        reading = new ReadService(space, limits, time);
        browser = new Browser(space, limits);
        Subscriptions = new SubscriptionManager(space, options, log, gate, time);
        var identities = new IdentityChecker(options, endpoints, new LoginGuard(limits, time), log, time);
        Sessions = new SessionManager(options, endpoints, identities, Subscriptions, log, gate, time);
    }

    public EndpointList Endpoints { get; }

    public SessionManager Sessions { get; }

    public SubscriptionManager Subscriptions { get; }

    /// <summary>Answers one request. Completes when the connection may be given the next one; publish requests are answered later.</summary>
    public async ValueTask AnswerAsync(IServerConnection connection, IncomingRequest request, CancellationToken cancellation)
    {
        StatusCode failure;
        try
        {
            await DispatchAsync(connection, request, cancellation);
            return;
        }
        catch (UaException e)
        {
            failure = e.Status;
        }
        catch (Exception e) when (e is not OperationCanceledException)
        {
            log.RequestFailed(connection.Address, request.TypeId.ToString(), e);
            failure = StatusCodes.BadInternalError;
        }

        await connection.SendAsync(request.RequestId, Header(request, failure), new ServiceFault(), cancellation);
    }

    private static uint ServiceOf(IncomingRequest request) =>
        request.TypeId is { Namespace: 0, Kind: IdentifierType.Numeric } id ? id.Number : 0;

    private ResponseHeader Header(IncomingRequest request, StatusCode status) => new(time.GetUtcNow().UtcDateTime, request.Header.Handle, status);

    private ValueTask SendAsync<TResponse>(IServerConnection connection, IncomingRequest request, TResponse body, CancellationToken cancellation)
        where TResponse : IEncodable<TResponse> => connection.SendAsync(request.RequestId, Header(request, StatusCodes.Good), body, cancellation);
}
