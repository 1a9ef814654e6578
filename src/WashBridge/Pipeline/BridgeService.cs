namespace WashBridge.Pipeline;

/// <summary>The bridge as a hosted service. If it fails, the host stops and the process ends with an error code, so that whoever supervises it notices.</summary>
internal sealed partial class BridgeService(Bridge bridge, IHostApplicationLifetime lifetime, ILogger<BridgeService> logger) : BackgroundService
{
    public bool Failed { get; private set; }

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        try
        {
            await bridge.RunAsync(stoppingToken);
        }
        catch (Exception failure) when (failure is not OperationCanceledException || !stoppingToken.IsCancellationRequested)
        {
            Failed = true;
            BridgeFailed(logger, failure);
            lifetime.StopApplication();
        }
    }

    [LoggerMessage(EventId = 2000, Level = LogLevel.Critical, Message = "The bridge failed and the service stops")]
    private static partial void BridgeFailed(ILogger logger, Exception failure);
}
