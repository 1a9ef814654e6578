namespace WashBridge.Core.Sampling;

/// <summary>A plan or a bound that cannot be: the message says which entry, what was found and what is allowed.</summary>
public sealed class SamplingException(string message) : Exception(message);
