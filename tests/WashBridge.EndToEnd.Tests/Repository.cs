namespace WashBridge.EndToEnd.Tests;

internal static class Repository
{
    /// <summary>The folder that holds the solution file.</summary>
    public static string Root { get; } = Find(AppContext.BaseDirectory);

    private static string Find(string folder) =>
        File.Exists(Path.Combine(folder, "WashBridge.sln")) ? folder : Find(Path.GetDirectoryName(folder) ?? throw new DirectoryNotFoundException("no WashBridge.sln above the tests"));
}
