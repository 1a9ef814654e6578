namespace WashBridge.Browsing;

/// <summary>Shows on a terminal that a walk goes on; elsewhere nothing.</summary>
internal sealed class BrowseProgress(TextWriter errors)
{
    private readonly bool isShown = ReferenceEquals(errors, Console.Error) && !Console.IsErrorRedirected;
    private bool isDirty;

    public void Report(int nodes)
    {
        if (isShown)
        {
            errors.Write($"\r{nodes} nodes seen ");
            isDirty = true;
        }
    }

    public void Clear()
    {
        if (isDirty)
        {
            errors.Write("\r                              \r");
        }
    }
}
