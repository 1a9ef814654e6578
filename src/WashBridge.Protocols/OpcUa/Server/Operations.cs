namespace WashBridge.Protocols.OpcUa.Server;

/// <summary>What the services that take lists have in common (OPC 10000-4, 7.38: common service results).</summary>
internal static class Operations
{
    /// <exception cref="UaException">BadNothingToDo: an empty list; BadTooManyOperations: a longer one than allowed.</exception>
    public static void Check(int count, int max)
    {
        if (count == 0)
        {
            throw new UaException(StatusCodes.BadNothingToDo, "an empty list");
        }

        CheckAtMost(count, max);
    }

    /// <exception cref="UaException">BadTooManyOperations.</exception>
    public static void CheckAtMost(int count, int max)
    {
        if (count > max)
        {
            throw new UaException(StatusCodes.BadTooManyOperations, $"{count} operations in one call; allowed: {max}");
        }
    }

    public static TResult[] Each<T, TResult>(IReadOnlyList<T> operations, Func<T, TResult> execute)
    {
        var results = new TResult[operations.Count];
        for (var i = 0; i < results.Length; i++)
        {
            results[i] = execute(operations[i]);
        }

        return results;
    }
}
