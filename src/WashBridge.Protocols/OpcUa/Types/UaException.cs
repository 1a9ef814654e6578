namespace WashBridge.Protocols.OpcUa;

/// <summary>Something failed, with the status code that the standard has for it.</summary>
public class UaException(StatusCode status, string message, Exception? inner = null) : Exception(message, inner)
{
    public StatusCode Status { get; } = status;

    /// <summary>The message begins with the code's name, so that it can be looked up.</summary>
    public override string Message => $"{Status}: {base.Message}";
}
