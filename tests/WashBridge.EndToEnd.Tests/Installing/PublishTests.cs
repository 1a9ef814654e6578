using WashBridge.EndToEnd.Tests.Program;

namespace WashBridge.EndToEnd.Tests.Installing;

[Collection(nameof(Package))]
public sealed class PublishTests(Package package)
{
    [Fact]
    public async Task The_single_file_runs_the_demonstration_and_serves_pages_and_their_files_from_any_folder()
    {
        using var folder = new TemporaryFolder();
        var output = await Shell.RunAsync($$"""
            env -i HOME=/nonexistent {{package.Program}} demo --speed 5 --minutes 5 --history 0 --port 0 > said.txt 2>&1 &
            address=
            for try in $(seq 600); do address=$(sed -n 's/^Pages: //p' said.txt); [ -n "$address" ] && curl -sf "$address" > page.html && break; sleep 0.1; done
            for file in $(grep -oE '(href|src)="[^"]*\.(css|js)"' page.html | cut -d '"' -f 2 | sort -u); do
              curl -sf -o /dev/null -w '%{http_code} %{size_download} %{content_type}\n' "$address${file#/}"
            done
            kill -INT $! || kill -TERM $!
            wait || true
            cat said.txt page.html
            """, folder.Root);
        Assert.Contains("Millrace Brewery", output);
        Assert.Contains("</html>", output);
        Assert.True(output.Split('\n').Count(l => l.StartsWith("200 ", StringComparison.Ordinal) && !l.StartsWith("200 0 ", StringComparison.Ordinal)) > 2, output);
        Assert.Contains("text/css", output);
        Assert.Contains("text/javascript", output);
    }

    [Fact]
    public async Task For_other_machines_it_is_built_in_their_format_with_their_library_of_SQLite()
    {
        await Shell.RunAsync("src/WashBridge/Installing/publish linux-arm64 win-x64");
        var built = Path.Combine(Repository.Root, "artifacts", "publish");

        // ELF: e_ident and e_machine 183, EM_AARCH64 (ELF for the Arm 64-bit Architecture). PE: machine 0x8664 behind the signature (Microsoft, PE Format).
        foreach (var file in (string[])["washbridge", "libe_sqlite3.so"])
        {
            var elf = Head(Path.Combine(built, "linux-arm64", file));
            Assert.Equal([0x7F, (byte)'E', (byte)'L', (byte)'F', 2, 1], elf[..6]);
            Assert.Equal(183, BitConverter.ToUInt16(elf, 18));
        }

        foreach (var file in (string[])["washbridge.exe", "e_sqlite3.dll"])
        {
            var pe = Head(Path.Combine(built, "win-x64", file));
            var header = BitConverter.ToInt32(pe, 0x3C);
            Assert.Equal("PE\0\0"u8.ToArray(), pe[header..(header + 4)]);
            Assert.Equal(0x8664, BitConverter.ToUInt16(pe, header + 4));
        }

        Assert.All((string[])["linux-arm64", "win-x64"], machine => Assert.True(File.Exists(Path.Combine(built, machine, "wwwroot", "site.css")) && File.Exists(Path.Combine(built, machine, "config", "demo", "site.yaml"))));
    }

    [Fact]
    public async Task An_unknown_machine_is_refused_with_those_that_are_known() =>
        Assert.Equal((1, "publish: found 'linux-riscv64'; allowed: linux-x64, linux-arm64, win-x64\n"), await Shell.TryAsync("src/WashBridge/Installing/publish linux-riscv64"));

    private static byte[] Head(string file)
    {
        using var stream = File.OpenRead(file);
        var head = new byte[1024];
        stream.ReadExactly(head);
        return head;
    }
}
