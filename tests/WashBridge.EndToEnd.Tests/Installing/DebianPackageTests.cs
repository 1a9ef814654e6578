using System.Text.RegularExpressions;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>Debian's own dpkg installs, upgrades, removes and purges the package.</summary>
[Collection(nameof(Package))]
public sealed class DebianPackageTests(Package package)
{
    [Fact]
    public async Task Installing_makes_a_user_without_login_a_folder_of_its_own_and_a_site_that_checks()
    {
        var output = await DebianRoot.RunAsync($$"""
            dpkg --install {{package.File}}
            cat root/etc/passwd
            stat -c 'state %u %a' root/var/lib/washbridge
            stat -c 'program %u %a' root/usr/lib/washbridge/washbridge
            find root/usr root/lib root/etc/washbridge -type f -perm /022
            """);
        var user = Regex.Match(output, "^washbridge:x:([0-9]+):[0-9]+:WashBridge service:/var/lib/washbridge:/usr/sbin/nologin$", RegexOptions.Multiline);
        Assert.True(user.Success, output);
        Assert.Contains($"state {user.Groups[1].Value} 750", output);
        Assert.EndsWith("program 0 755\n", output, StringComparison.Ordinal);
        Assert.Contains("systemctl enable --now washbridge", output);

        using var folder = new TemporaryFolder();
        var site = await package.SiteAsync(folder);
        Assert.Contains($"path: {folder.Root}/washers.washdb", await File.ReadAllTextAsync(site, TestContext.Current.CancellationToken));
        Assert.Contains("files without problem", await Shell.RunAsync($"{package.Program} check {site} --offline", "/"));
    }

    [Fact]
    public async Task An_upgrade_keeps_what_people_wrote_and_purging_keeps_what_was_recorded()
    {
        var output = await DebianRoot.RunAsync($$"""
            dpkg --install {{package.File}}
            echo '# ours' >> root/etc/washbridge/site.yaml
            echo record > root/var/lib/washbridge/washers.washdb
            {{Repository.Root}}/src/WashBridge/Installing/package-debian --version 99.0
            dpkg --install {{Repository.Root}}/artifacts/washbridge_99.0_amd64.deb
            rm {{Repository.Root}}/artifacts/washbridge_99.0_amd64.deb
            echo "upgraded: $(dpkg-query --admindir=root/var/lib/dpkg -W -f '${Version}' washbridge), $(tail -1 root/etc/washbridge/site.yaml), $(cat root/var/lib/washbridge/washers.washdb), $(grep -c washbridge root/etc/passwd) user"
            dpkg --remove washbridge
            [ ! -e root/usr/lib/washbridge ] && [ ! -e root/lib/systemd/system/washbridge.service ]
            echo "removed: $(tail -1 root/etc/washbridge/site.yaml)"
            dpkg --purge washbridge
            [ ! -e root/etc/washbridge ]
            echo "purged: $(cat root/var/lib/washbridge/washers.washdb)"
            """);
        Assert.Contains("upgraded: 99.0, # ours, record, 1 user", output);
        Assert.Contains("removed: # ours", output);
        Assert.Contains("washbridge: /var/lib/washbridge holds records and is kept", output);
        Assert.Contains("purged: record", output);
    }

    [Fact]
    public async Task Purging_leaves_nothing_where_nothing_was_recorded() =>
        Assert.EndsWith("nothing\n", await DebianRoot.RunAsync($"""
            dpkg --install {package.File}
            dpkg --purge washbridge
            [ ! -e root/var/lib/washbridge ] && [ ! -e root/etc/washbridge ] && [ ! -e root/usr/bin/washbridge ] && echo nothing
            """), StringComparison.Ordinal);

    [Fact]
    public async Task Debians_checker_of_packages_finds_no_error_and_no_warning_but_those_that_are_known()
    {
        string[] known = ["no-manual-page", "maintainer-script-calls-systemctl"];
        var (_, output) = await Shell.TryAsync($"lintian --allow-root --fail-on none {package.File}");
        var found = Regex.Matches(output, "^([EW]): washbridge: ([a-z0-9-]+)", RegexOptions.Multiline).Select(m => (Kind: m.Groups[1].Value, Tag: m.Groups[2].Value)).ToList();
        Assert.DoesNotContain(found, f => f.Kind == "E");
        Assert.Equal(known.Order(), found.Select(f => f.Tag).Distinct().Order());
    }

    [Fact]
    public void The_package_brings_the_notices_of_both_parts_of_the_runtime()
    {
        var notices = Path.Combine(package.Root, "usr", "lib", "washbridge", "notices");
        Assert.Contains("zlib", File.ReadAllText(Path.Combine(notices, "Microsoft.NETCore.App.txt")));
        Assert.NotEmpty(File.ReadAllText(Path.Combine(notices, "Microsoft.AspNetCore.App.txt")));
    }
}
