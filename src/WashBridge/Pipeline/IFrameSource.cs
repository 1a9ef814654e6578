namespace WashBridge.Pipeline;

/// <summary>Reads one washer and writes frames, whatever its controller speaks.</summary>
internal interface IFrameSource
{
    string Washer { get; }

    /// <summary>Runs until cancelled. Trouble with the controller ends in frames that say so, never in an exception.</summary>
    Task RunAsync(CancellationToken cancellation);
}
