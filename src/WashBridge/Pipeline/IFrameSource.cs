namespace WashBridge.Pipeline;

/// <summary>Reads one washer and writes frames, whatever its controller speaks.</summary>
internal interface IFrameSource
{
    string Washer { get; }

    /// <summary>What keeps the washer, or a group of it, from being read; null while all is read.</summary>
    string? Trouble { get; }

    /// <summary>How reading has gone since the start.</summary>
    /// <param name="group">0 to 255; one that the washer does not have was never read.</param>
    ReadCounts CountsOf(int group);

    /// <summary>Runs until cancelled. Trouble with the controller ends in frames that say so, never in an exception.</summary>
    Task RunAsync(CancellationToken cancellation);
}

/// <summary>Reads of a group since the start.</summary>
/// <param name="Done">That brought something, be it that nothing had changed.</param>
/// <param name="Failed">That brought nothing: answers that did not come, connections that could not be made, subscriptions that were interrupted.</param>
internal readonly record struct ReadCounts(long Done, long Failed);
