using System.Runtime.Versioning;
using WashBridge.Benchmarks;
using WashBridge.Historian;

namespace WashBridge.EndToEnd.Tests.Historian;

[UnsupportedOSPlatform("windows")]
public sealed class SecondProcessTests : IDisposable
{
    /// <summary>"nobody" on most systems; any user without rights will do.</summary>
    private const int Nobody = 65_534;

    private const UnixFileMode EverybodyReads = UnixFileMode.UserRead | UnixFileMode.GroupRead | UnixFileMode.OtherRead;
    private const UnixFileMode EverybodyEnters = UnixFileMode.UserExecute | UnixFileMode.GroupExecute | UnixFileMode.OtherExecute;

    private readonly string _folder = Directory.CreateTempSubdirectory("washdb").FullName;

    private string StorePath => Path.Combine(_folder, "line.washdb");

    [Fact]
    public void A_second_process_reads_beside_the_writer()
    {
        using var historian = Filled();
        Assert.Equal("40 40", Read());
        historian.AppendFrames([HistorianWriterChild.FrameAt(41)]);
        Assert.Equal("41 41", Read());
    }

    [Fact]
    public void A_second_process_cannot_write_while_the_first_does()
    {
        using var historian = Filled();
        using var child = ChildProcess.Start(["historian-writer-child", StorePath]);
        var error = child.Error.ReadToEnd();
        Assert.NotEqual(0, child.WaitForExit());
        Assert.Contains(StorePath + "-lock", error, StringComparison.Ordinal);
    }

    [Fact]
    public void After_a_clean_stop_it_can_be_read_where_nothing_can_be_written()
    {
        Filled().Dispose();
        File.Delete(StorePath + "-lock");
        File.SetUnixFileMode(StorePath, EverybodyReads);
        File.SetUnixFileMode(_folder, EverybodyReads | EverybodyEnters);

        // Root may write anywhere: then the reader runs as somebody else.
        Assert.Equal("40 40", Read(Environment.UserName == "root" ? Nobody : null));
        Assert.Equal(["line.washdb"], Directory.GetFiles(_folder).Select(Path.GetFileName));
    }

    public void Dispose()
    {
        File.SetUnixFileMode(_folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        Directory.Delete(_folder, recursive: true);
    }

    private WashBridge.Historian.Historian Filled()
    {
        var historian = WashBridge.Historian.Historian.Open(StorePath, new HistorianOptions(), TimeProvider.System);
        historian.AppendFrames([.. Enumerable.Range(1, 40).Select(i => HistorianWriterChild.FrameAt(i))]);
        historian.Seal(HistorianWriterChild.FrameAt(30).Read.Earliest, TestContext.Current.CancellationToken);
        return historian;
    }

    private string Read(int? userId = null)
    {
        using var child = ChildProcess.Start(["historian-reader-child", StorePath], userId);
        var output = child.Output.ReadToEnd().Trim();
        Assert.True(child.WaitForExit() == 0, child.Error.ReadToEnd());
        return output;
    }
}
