using WashBridge.Configuration.Binding;

namespace WashBridge.Configuration;

/// <summary>What loading came to: a site, or the problems that stand in its way. Never both.</summary>
/// <param name="Site">The checked configuration; null if there are problems.</param>
/// <param name="Problems">All problems found, by file and line.</param>
/// <param name="Files">Every file that was read, as the problems name it, the site file first.</param>
internal sealed record LoadedConfiguration(Site? Site, IReadOnlyList<Problem> Problems, IReadOnlyList<string> Files);

/// <summary>Reads a site file and all files it names.</summary>
internal static class ConfigurationLoader
{
    /// <param name="path">The site file. Paths inside a file are relative to that file.</param>
    /// <param name="environment">Looks up environment variables; null: those of the process.</param>
    public static LoadedConfiguration Load(string path, Func<string, string?>? environment = null)
    {
        var sources = new SourceFiles(environment ?? Environment.GetEnvironmentVariable);
        var site = sources.ReadRoot(path) is { } map ? SiteBinder.Bind(map, sources) : null;
        site = sources.Problems.Count == 0 && site is not null ? site with { Warnings = sources.Warnings.Sorted(sources.Read) } : null;
        return new LoadedConfiguration(site, sources.Problems.Sorted(sources.Read), sources.Read);
    }
}
