using WashBridge.Configuration;

namespace WashBridge.Commands;

/// <summary>Loads a site for a command that cannot run without one.</summary>
internal static class SiteFile
{
    /// <summary>The site, or null after printing every problem.</summary>
    public static Site? Load(FileInfo file, TextWriter errors)
    {
        var loaded = ConfigurationLoader.Load(file.FullName);
        foreach (var problem in loaded.Problems)
        {
            errors.WriteLine(problem);
        }

        return loaded.Site;
    }
}
