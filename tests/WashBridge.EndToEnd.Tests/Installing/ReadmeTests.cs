using System.Text.RegularExpressions;
using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>The first page, command by command, in its order. That what it names within its text can be typed too is held elsewhere.</summary>
[Collection(nameof(Package))]
public sealed class ReadmeTests(Package package)
{
    private string _keg = "";

    [Fact]
    public async Task Every_command_of_the_first_page_works()
    {
        using var folder = new TemporaryFolder();
        await Shell.RunAsync($"mkdir bin config; ln -s {package.Program} bin/washbridge; cp -r {Repository.Root}/config/demo/* config; cp -r {Repository.Root}/config/schema .", folder.Root);
        var ran = new List<string>();
        foreach (var (kind, command) in Page.Commands("README.md"))
        {
            if (kind == "suite")
            {
                Assert.Equal("tests/run", command); // This is it.
                continue;
            }

            Assert.Equal("", kind);
            ran.Add(command);

            // As if it were typed in the repository, which is not littered.
            var here = command.Replace("--project src", $"--project {Repository.Root}/src", StringComparison.Ordinal);
            if (command.EndsWith(" demo", StringComparison.Ordinal))
            {
                await ShowAsync(here, folder);
            }
            else
            {
                await Shell.RunAsync(here.Replace("K-0042", _keg, StringComparison.Ordinal), folder.Root, folder["bin"]);
            }
        }

        Assert.Equal(5, ran.Count);
        Assert.Contains("drain-valve@2", await File.ReadAllTextAsync(folder["analysis.html"], TestContext.Current.CancellationToken));
        Assert.Contains(_keg, await File.ReadAllTextAsync(folder["report.html"], TestContext.Current.CancellationToken));
        Assert.StartsWith("%PDF", await File.ReadAllTextAsync(folder[$"{_keg}.pdf"], TestContext.Current.CancellationToken));
    }

    /// <summary>The demonstration until it has shown a keg that has an id of its own; then Ctrl-C.</summary>
    private async Task ShowAsync(string demo, TemporaryFolder folder)
    {
        var output = await Shell.RunAsync($"""
            env --default-signal=INT {demo} --port 0 > said.txt 2>&1 &
            until grep -qs 'keg K.* at station' said.txt; do kill -0 $!; sleep 0.3; done
            kill -INT $(pgrep -P $! washbridge)
            wait $!
            cat said.txt
            mv demo.washdb plant.washdb
            cp plant.washdb demo.washdb
            """, folder.Root);
        Assert.Matches("Pages: http://localhost:[0-9]+/", output);
        Assert.Matches("[1-9][0-9]* kegs: ", output);
        _keg = Regex.Match(output, "keg (K[0-9]+) at station").Groups[1].Value;
    }
}
