using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Server;

/// <content>
/// The services there are. No other exists here, and none of these changes anything but the client's own session and subscriptions.
/// </content>
internal sealed partial class ServiceHost
{
    private ValueTask DispatchAsync(IServerConnection connection, IncomingRequest request, CancellationToken cancellation)
    {
        var service = ServiceOf(request);
        return service switch
        {
            // Without a session (OPC 10000-4, 5.5 and 5.7).
            _ when service == GetEndpointsRequest.EncodingId => SendAsync(connection, request, Endpoints.GetEndpoints(request.ReadBody<GetEndpointsRequest>()), cancellation),
            _ when service == FindServersRequest.EncodingId => SendAsync(connection, request, Endpoints.FindServers(request.ReadBody<FindServersRequest>()), cancellation),
            _ when service == CreateSessionRequest.EncodingId => SendAsync(connection, request, Sessions.Create(connection, request.ReadBody<CreateSessionRequest>()), cancellation),
            _ when service == ActivateSessionRequest.EncodingId => ActivateAsync(connection, request, cancellation),
            _ when service == CloseSessionRequest.EncodingId =>
                SendAsync(connection, request, Sessions.Close(connection, request.Header.AuthenticationToken, request.ReadBody<CloseSessionRequest>()), cancellation),
            _ when IsWithinSession(service) => DispatchAsync(connection, Sessions.Use(connection, request.Header.AuthenticationToken), request, service, cancellation),
            _ => throw new UaException(StatusCodes.BadServiceUnsupported, $"a request of type {request.TypeId}"),
        };
    }

    private static bool IsWithinSession(uint service) =>
        service == PublishRequest.EncodingId || service == ReadRequest.EncodingId || service == RepublishRequest.EncodingId
        || service == BrowseRequest.EncodingId || service == BrowseNextRequest.EncodingId || service == TranslateBrowsePathsRequest.EncodingId
        || service == RegisterNodesRequest.EncodingId || service == UnregisterNodesRequest.EncodingId
        || service == CreateSubscriptionRequest.EncodingId || service == ModifySubscriptionRequest.EncodingId || service == SetPublishingModeRequest.EncodingId
        || service == DeleteSubscriptionsRequest.EncodingId || service == TransferSubscriptionsRequest.EncodingId
        || service == CreateMonitoredItemsRequest.EncodingId || service == ModifyMonitoredItemsRequest.EncodingId
        || service == SetMonitoringModeRequest.EncodingId || service == DeleteMonitoredItemsRequest.EncodingId
        || service == CancelRequest.EncodingId;

    private ValueTask DispatchAsync(IServerConnection connection, Session session, IncomingRequest request, uint service, CancellationToken cancellation)
    {
        return service switch
        {
            _ when service == PublishRequest.EncodingId => Publish(connection, session, request),
            _ when service == ReadRequest.EncodingId => Send(reading.Read(request.ReadBody<ReadRequest>())),
            _ when service == RepublishRequest.EncodingId => Send(Subscriptions.Republish(session, request.ReadBody<RepublishRequest>())),
            _ when service == BrowseRequest.EncodingId => Send(browser.Browse(session, request.ReadBody<BrowseRequest>())),
            _ when service == BrowseNextRequest.EncodingId => Send(browser.BrowseNext(session, request.ReadBody<BrowseNextRequest>())),
            _ when service == TranslateBrowsePathsRequest.EncodingId => Send(browser.Translate(request.ReadBody<TranslateBrowsePathsRequest>())),
            _ when service == RegisterNodesRequest.EncodingId => Send(Register(request.ReadBody<RegisterNodesRequest>())),
            _ when service == UnregisterNodesRequest.EncodingId => Send(Unregister(request.ReadBody<UnregisterNodesRequest>())),
            _ when service == CreateSubscriptionRequest.EncodingId => Send(Subscriptions.Create(session, request.ReadBody<CreateSubscriptionRequest>())),
            _ when service == ModifySubscriptionRequest.EncodingId => Send(Subscriptions.Modify(session, request.ReadBody<ModifySubscriptionRequest>())),
            _ when service == SetPublishingModeRequest.EncodingId => Send(Subscriptions.SetPublishingMode(session, request.ReadBody<SetPublishingModeRequest>())),
            _ when service == DeleteSubscriptionsRequest.EncodingId => Send(Subscriptions.Delete(session, request.ReadBody<DeleteSubscriptionsRequest>())),
            _ when service == TransferSubscriptionsRequest.EncodingId => Send(Subscriptions.Transfer(session, request.ReadBody<TransferSubscriptionsRequest>())),
            _ when service == CreateMonitoredItemsRequest.EncodingId => Send(Subscriptions.CreateItems(session, request.ReadBody<CreateMonitoredItemsRequest>())),
            _ when service == ModifyMonitoredItemsRequest.EncodingId => Send(Subscriptions.ModifyItems(session, request.ReadBody<ModifyMonitoredItemsRequest>())),
            _ when service == SetMonitoringModeRequest.EncodingId => Send(Subscriptions.SetMonitoringMode(session, request.ReadBody<SetMonitoringModeRequest>())),
            _ when service == DeleteMonitoredItemsRequest.EncodingId => Send(Subscriptions.DeleteItems(session, request.ReadBody<DeleteMonitoredItemsRequest>())),
            _ => Send(new CancelResponse(Subscriptions.Cancel(session, request.ReadBody<CancelRequest>().RequestHandle))),
        };

        ValueTask Send<TResponse>(TResponse body)
            where TResponse : Encoding.IEncodable<TResponse> => SendAsync(connection, request, body, cancellation);
    }

    private async ValueTask ActivateAsync(IServerConnection connection, IncomingRequest request, CancellationToken cancellation)
    {
        var body = request.ReadBody<ActivateSessionRequest>();
        await SendAsync(connection, request, await Sessions.ActivateAsync(connection, request.Header.AuthenticationToken, body, cancellation), cancellation);
    }

    private ValueTask Publish(IServerConnection connection, Session session, IncomingRequest request)
    {
        Subscriptions.Publish(session, connection, request.RequestId, request.Header.Handle, request.Header.TimeoutHint, request.ReadBody<PublishRequest>());
        return ValueTask.CompletedTask;
    }

    /// <summary>Nodes are found quickly anyway: the ids stay as they are (OPC 10000-4, 5.9.5).</summary>
    private RegisterNodesResponse Register(RegisterNodesRequest request)
    {
        Operations.Check(request.Nodes.Count, limits.MaxNodesPerRegister);
        return new RegisterNodesResponse(request.Nodes);
    }

    private UnregisterNodesResponse Unregister(UnregisterNodesRequest request)
    {
        Operations.Check(request.Nodes.Count, limits.MaxNodesPerRegister);
        return new UnregisterNodesResponse();
    }
}
