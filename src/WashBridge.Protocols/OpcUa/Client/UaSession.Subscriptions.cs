using WashBridge.Protocols.OpcUa.Channels;
using WashBridge.Protocols.OpcUa.Services;

namespace WashBridge.Protocols.OpcUa.Client;

/// <summary>The services that subscriptions are made of (OPC 10000-4, 5.13 and 5.14); <see cref="UaConnection"/> puts them together.</summary>
public sealed partial class UaSession
{
    internal async Task<CreateSubscriptionResponse> CreateSubscriptionAsync(CreateSubscriptionRequest request, CancellationToken cancellation) =>
        (await RequestAsync<CreateSubscriptionRequest, CreateSubscriptionResponse>(request, options.RequestTimeout, cancellation)).Body;

    internal async Task<ModifySubscriptionResponse> ModifySubscriptionAsync(ModifySubscriptionRequest request, CancellationToken cancellation) =>
        (await RequestAsync<ModifySubscriptionRequest, ModifySubscriptionResponse>(request, options.RequestTimeout, cancellation)).Body;

    internal async Task<IReadOnlyList<StatusCode>> DeleteSubscriptionsAsync(IReadOnlyList<uint> ids, CancellationToken cancellation) =>
        (await RequestAsync<DeleteSubscriptionsRequest, DeleteSubscriptionsResponse>(new DeleteSubscriptionsRequest(ids), options.RequestTimeout, cancellation)).Body.Results;

    internal async Task<IReadOnlyList<TransferResult>> TransferSubscriptionsAsync(IReadOnlyList<uint> ids, CancellationToken cancellation)
    {
        // What had not been acknowledged is asked for again; initial values would only repeat it.
        var request = new TransferSubscriptionsRequest(ids, SendInitialValues: false);
        var results = (await RequestAsync<TransferSubscriptionsRequest, TransferSubscriptionsResponse>(request, options.RequestTimeout, cancellation)).Body.Results;
        CheckCount(results.Count, ids.Count, "TransferSubscriptions");
        return results;
    }

    internal async Task<IReadOnlyList<MonitoredItemCreateResult>> CreateMonitoredItemsAsync(uint subscription, IReadOnlyList<MonitoredItemCreateRequest> items, CancellationToken cancellation) =>
        await InBatchesAsync(items, state.Limits.MonitoredItems, "CreateMonitoredItems", async batch =>
        {
            var request = new CreateMonitoredItemsRequest(subscription, TimestampsToReturn.Both, batch);
            return (await RequestAsync<CreateMonitoredItemsRequest, CreateMonitoredItemsResponse>(request, options.RequestTimeout, cancellation)).Body.Results;
        });

    internal async Task<IReadOnlyList<StatusCode>> DeleteMonitoredItemsAsync(uint subscription, IReadOnlyList<uint> ids, CancellationToken cancellation) =>
        await InBatchesAsync(ids, state.Limits.MonitoredItems, "DeleteMonitoredItems", async batch =>
        {
            var request = new DeleteMonitoredItemsRequest(subscription, batch);
            return (await RequestAsync<DeleteMonitoredItemsRequest, DeleteMonitoredItemsResponse>(request, options.RequestTimeout, cancellation)).Body.Results;
        });

    internal async Task<ServiceResponse<RepublishResponse>> RepublishAsync(uint subscription, uint number, CancellationToken cancellation) =>
        await RequestAsync<RepublishRequest, RepublishResponse>(new RepublishRequest(subscription, number), options.RequestTimeout, cancellation);

    /// <summary>Waits at the server until there is something to tell, so without a time-out: the subscriptions' watchdogs see a server that has stopped.</summary>
    internal ValueTask<ServiceResponse<PublishResponse>> PublishAsync(IReadOnlyList<SubscriptionAcknowledgement> acknowledgements, CancellationToken cancellation) =>
        RequestAsync<PublishRequest, PublishResponse>(new PublishRequest(acknowledgements), Timeout.InfiniteTimeSpan, cancellation);
}
