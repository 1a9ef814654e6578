namespace WashBridge.Orders;

/// <summary>What a person told cannot be taken.</summary>
/// <param name="message">What was found and what is allowed.</param>
/// <param name="isConflict">It is well formed, but does not fit how things stand.</param>
/// <param name="isForbidden">It is for others to tell.</param>
internal sealed class TellingException(string message, bool isConflict = false, bool isForbidden = false) : Exception(message)
{
    public bool IsConflict => isConflict;

    public bool IsForbidden => isForbidden;
}
