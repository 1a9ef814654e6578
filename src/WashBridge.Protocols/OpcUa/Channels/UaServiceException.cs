namespace WashBridge.Protocols.OpcUa.Channels;

/// <summary>The server answered that a service failed as a whole. The channel remains of use.</summary>
public sealed class UaServiceException(StatusCode status, string message) : UaException(status, message);
