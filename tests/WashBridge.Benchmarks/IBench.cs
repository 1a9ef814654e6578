namespace WashBridge.Benchmarks;

/// <summary>One measurement. It prints its figures, the bar it is held to, and whether that was reached.</summary>
internal interface IBench
{
    /// <summary>What to type: lower-case letters and hyphens.</summary>
    string Name { get; }

    /// <summary>One line for the list of benches.</summary>
    string What { get; }

    Task RunAsync(string[] arguments, CancellationToken cancellation);
}
