namespace WashBridge.Importing;

/// <summary>What was taken from a cell, and why; or why nothing was.</summary>
/// <param name="Value">The value; the default if there is none.</param>
/// <param name="IsKnown">Whether there is one.</param>
/// <param name="Reason">For the person who reads the map; empty where the list said it plainly.</param>
internal readonly record struct Guess<T>(T? Value, bool IsKnown, string Reason)
{
    public static Guess<T> Of(T value, string reason = "") => new(value, true, reason);

    public static Guess<T> Open(string reason) => new(default, false, reason);
}
