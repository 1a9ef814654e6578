using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>
/// A folder that stands for the root of a Debian system: its own dpkg works in it, with the package's scripts (DPKG_ROOT). What asks a running systemd is left out by
/// the scripts there, and other packages are not there: dependencies are taken for granted.
/// </summary>
internal static class DebianRoot
{
    private const string New = """
        mkdir -p root/var/lib/dpkg/info root/var/lib/dpkg/updates root/etc
        touch root/var/lib/dpkg/status
        dpkg() { command dpkg --root="$PWD/root" --force-script-chrootless --force-depends --force-confold --log=/dev/null "$@" | grep -v 'dependency problems\|depends on\|is not installed' || [ "${PIPESTATUS[0]}" = 0 ]; }

        """;

    /// <param name="commands">Run where a new root lies in the folder <c>root</c>, as one who is root there; <c>dpkg</c> works on it.</param>
    /// <returns>What they printed; fails where any command fails.</returns>
    public static async Task<string> RunAsync(string commands)
    {
        using var folder = new TemporaryFolder();
        await File.WriteAllTextAsync(folder["commands"], New + commands, TestContext.Current.CancellationToken);
        return await Shell.RunAsync("fakeroot bash -euo pipefail commands", folder.Root);
    }
}
