namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>How messages are protected (OPC 10000-4, 7.20).</summary>
public enum MessageSecurityMode
{
    Invalid = 0,
    None = 1,
    Sign = 2,
    SignAndEncrypt = 3,
}
