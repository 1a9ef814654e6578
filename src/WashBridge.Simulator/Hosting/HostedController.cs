using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Simulator.Hosting;

/// <summary>A washer to host, and how its controller talks.</summary>
/// <param name="Washer">A new one.</param>
/// <param name="Port">On loopback; 0: any free one.</param>
/// <param name="OpcUa">How its OPC UA server is reached and by whom; null: it has a Modbus server.</param>
public sealed record HostedController(SimulatedWasher Washer, int Port = 0, UaServerOptions? OpcUa = null);
