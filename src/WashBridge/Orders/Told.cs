namespace WashBridge.Orders;

/// <summary>Work on a component, as a person tells it.</summary>
/// <param name="Work"><c>replaced</c>, <c>restored</c> or <c>inspected</c>.</param>
/// <param name="At">When it was done, ISO 8601 with a zone; null: now.</param>
/// <param name="HadFailed">The component had failed.</param>
internal sealed record ToldMaintenance(string? Washer, string? Component, string? Work, string? By, string? Note = null, string? At = null, bool HadFailed = false);

/// <summary>What a person orders about an alarm.</summary>
/// <param name="Order"><c>acknowledge</c>, <c>shelve</c>, <c>unshelve</c>, <c>out-of-service</c> or <c>return</c>.</param>
/// <param name="Until">End of shelving, ISO 8601 with a zone.</param>
internal sealed record ToldOrder(string? Washer, string? Alarm, string? Order, string? By, string? Reason = null, string? Until = null);

/// <summary>A washer that can be told about.</summary>
internal sealed record KnownWasher(string Id, int Stations);
