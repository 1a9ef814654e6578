using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Commands;

/// <summary>Who follows the log, and how one is forgotten that nobody moves any more.</summary>
public sealed class FollowersCommandTests : IDisposable
{
    private const string Servers = """

        influx:
          - {id: plant, url: "http://influx.example:8086", api: 1, bucket: washers}
        mqtt:
          - {id: hall, url: "mqtt://127.0.0.1:1883"}
        """;

    private readonly TemporaryFolder _folder = new();
    private readonly SettableTime _time = new(new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero));

    public FollowersCommandTests()
    {
        var example = Path.Combine(Repository.Root, "config", "example");
        foreach (var file in Directory.GetFiles(example, "*.yaml", SearchOption.AllDirectories))
        {
            var copy = Path.Combine(_folder["site"], Path.GetRelativePath(example, file));
            Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
            File.WriteAllText(copy, File.ReadAllText(file).Replace("../../data/example.db", "../plant.washdb", StringComparison.Ordinal));
        }

        File.AppendAllText(SiteFile, Servers);
    }

    private string SiteFile => Path.Combine(_folder["site"], "site.yaml");

    private string Store => _folder["plant.washdb"];

    public void Dispose() => _folder.Dispose();

    [Fact]
    public void Each_is_told_with_its_place_what_came_after_it_when_it_was_saved_and_whose_it_is_also_while_a_service_writes()
    {
        using var service = Fill();

        var (code, output, errors) = Run("list", SiteFile);

        Assert.Equal((ExitCodes.Success, ""), (code, errors));
        Assert.Equal("""
            follower         place  entries after it  oldest of these                          place saved                 in site file
            analysis         1      3                 2031-03-05 08:01:00 +00:00, 1 d 0 h ago  2031-03-05 08:00:00 +00:00  built in
            analysis/line-1  1      3                 2031-03-05 08:01:00 +00:00, 1 d 0 h ago  2031-03-05 08:00:00 +00:00  built in
            analyst          4      0                                                          2031-03-06 09:00:00 +00:00  built in
            clock            4      0                                                          2031-03-06 09:00:00 +00:00  built in
            influx/old       1      3                 2031-03-05 08:01:00 +00:00, 1 d 0 h ago  2031-03-05 08:00:00 +00:00  NO
            influx/plant     3      1                 2031-03-06 09:00:00 +00:00, 0 s ago      2031-03-06 09:00:00 +00:00  yes
            mqtt/hall        4      0                                                          2031-03-06 09:00:00 +00:00  yes
            pair             1      3                 2031-03-05 08:01:00 +00:00, 1 d 0 h ago  2031-03-05 08:00:00 +00:00  NO
            """.ReplaceLineEndings("\n"), string.Join('\n', output.Split('\n').Take(9)));
        Assert.Contains("The log ends at entry 4.", output, StringComparison.Ordinal);
        Assert.Contains($"influx/old is not in the site file: nothing moves its place, and keep-samples (730 days) drops no sample after it. If it is gone for good: washbridge followers forget {SiteFile} influx/old\n", output, StringComparison.Ordinal);
        Assert.Contains($"washbridge followers forget {SiteFile} pair\n", output, StringComparison.Ordinal);
        Assert.DoesNotContain($"forget {SiteFile} influx/plant", output, StringComparison.Ordinal);
    }

    [Fact]
    public void Where_samples_are_kept_for_ever_nothing_is_held_back_and_that_is_said()
    {
        Write(s => s.Replace("  keep-samples: 730 d", "", StringComparison.Ordinal));
        using var service = Fill();
        Assert.Contains("influx/old is not in the site file: nothing moves its place. It holds nothing back, because without keep-samples no sample is dropped.", Run("list", SiteFile).Output, StringComparison.Ordinal);
    }

    [Fact]
    public void A_follower_is_forgotten_only_after_what_that_means_was_told_and_agreed_to()
    {
        Fill().Dispose();

        var (code, output, errors) = Run("forget", SiteFile, "influx/old");
        Assert.Equal((ExitCodes.ConfigurationErrors, ""), (code, output));
        Assert.Equal($"""
            influx/old stands at entry 1 of 4. 3 entries came after it, the oldest at 2031-03-05 08:01:00 +00:00.
            If it is forgotten:
            - What it had not read will not be sent to it.
            - Samples older than keep-samples (730 days) that are kept only for it are dropped for good. Cycles, verdicts and all other events stay.
            - If it comes into the site file again, it is sent the whole log from its beginning.
            Nothing was changed. To forget it: washbridge followers forget {SiteFile} influx/old --yes

            """.ReplaceLineEndings("\n"), errors);
        Assert.Contains("influx/old", Names());

        (code, output, errors) = Run("forget", SiteFile, "influx/old", "--yes");
        Assert.Equal((ExitCodes.Success, "Forgotten: influx/old, which stood at entry 1 of 4.\n", ""), (code, output, errors));
        Assert.Equal(["analysis", "analysis/line-1", "analyst", "clock", "influx/plant", "mqtt/hall", "pair"], Names());
    }

    /// <summary>What all of it is for.</summary>
    [Fact]
    public void What_only_a_forgotten_follower_held_back_may_be_dropped()
    {
        using (var service = Fill())
        {
            foreach (var other in new[] { "analysis", "analysis/line-1", "influx/plant", "pair" })
            {
                service.AppendEvents([], new FollowerState(other, 4));
            }

            service.Expire(Instant.Floor(_time.GetUtcNow()) + TimeSpan.FromDays(1), TestContext.Current.CancellationToken);
            Assert.Equal([2, 3, 4], service.ReadLog(0, 10).Select(e => e.Sequence));
        }

        Assert.Equal(ExitCodes.Success, Run("forget", SiteFile, "influx/old", "--yes").Code);
        using var again = Open();
        again.Expire(Instant.Floor(_time.GetUtcNow()) + TimeSpan.FromDays(1), TestContext.Current.CancellationToken);
        Assert.Empty(again.ReadLog(0, 10));
    }

    [Theory]
    [InlineData("influx/plant", "influx/plant is in the site file: take it out there, under influx, and start the service again first")]
    [InlineData("mqtt/hall", "mqtt/hall is in the site file: take it out there, under mqtt, and start the service again first")]
    [InlineData("analyst", "analyst is the program's own: without its place the whole log would be gone through again, and it holds nothing back for long while the service runs")]
    [InlineData("analysis/line-1", "analysis/line-1 is the program's own")]
    [InlineData("clock", "clock is the program's own")]
    [InlineData("influx/odl", "follower: found 'influx/odl'; allowed: influx/old, pair")]
    public void Others_are_not_forgotten_and_why_is_told(string follower, string message)
    {
        Fill().Dispose();
        var before = Names();
        var (code, output, errors) = Run("forget", SiteFile, follower, "--yes");
        Assert.Equal((ExitCodes.ConfigurationErrors, ""), (code, output));
        Assert.StartsWith(message, errors, StringComparison.Ordinal);
        Assert.Equal(before, Names());
    }

    [Fact]
    public void The_pair_is_forgotten_only_where_the_site_file_has_none()
    {
        Fill().Dispose();
        Assert.Contains("- This store counts as one that never was of a pair: commands write to it themselves again.\n", Run("forget", SiteFile, "pair").Errors, StringComparison.Ordinal);
        Write(s => s + """

            http: {port: 8480}
            pair: {partner: "http://127.0.0.1:8481", first: true}
            """);
        var (code, _, errors) = Run("forget", SiteFile, "pair", "--yes");
        Assert.Equal((ExitCodes.ConfigurationErrors, "pair is in the site file: take it out there, under pair, and start the service again first.\n"), (code, errors));
        Assert.Contains("pair", Names());
    }

    [Fact]
    public void While_a_service_has_the_store_nothing_is_forgotten()
    {
        using var service = Fill();
        var (code, output, errors) = Run("forget", SiteFile, "influx/old", "--yes");
        Assert.Equal((ExitCodes.StoreErrors, ""), (code, output));
        Assert.Equal($"{Store}: the service, or another command, has it open and may still move the follower. Stop it, forget the follower, and start it again.\n", errors);
        Assert.Contains("influx/old", Names());
    }

    [Fact]
    public void Without_a_store_or_followers_that_is_said()
    {
        var (code, _, errors) = Run("list", SiteFile);
        Assert.Equal((ExitCodes.StoreErrors, $"{Store}: no such file. The service makes it when it starts: has it ever run?\n"), (code, errors));
        Assert.Equal(ExitCodes.StoreErrors, Run("forget", SiteFile, "influx/old", "--yes").Code);
        Assert.False(File.Exists(Store));

        Open().Dispose();
        Assert.Equal("Nobody follows the log yet.\n", Run("list", SiteFile).Output);
        Assert.StartsWith("follower: found 'influx/old'; allowed: none, for all that follow the log are the program's own or in the site file", Run("forget", SiteFile, "influx/old", "--yes").Errors, StringComparison.Ordinal);
    }

    /// <summary>Four frames, and followers at places on both sides of a day without any.</summary>
    private HistorianFile Fill()
    {
        var historian = Open();
        historian.AppendFrames([Frame(0)]);
        historian.AppendFrames([Frame(60)]);
        foreach (var late in new[] { "analysis", "analysis/line-1", "influx/old", "pair" })
        {
            historian.AppendEvents([], new FollowerState(late, 1));
        }

        _time.SetWallClockBy(TimeSpan.FromHours(25));
        historian.AppendFrames([Frame(-60), Frame(0)]);
        historian.AppendEvents([], new FollowerState("influx/plant", 3));
        foreach (var current in new[] { "analyst", "clock", "mqtt/hall" })
        {
            historian.AppendEvents([], new FollowerState(current, 4));
        }

        return historian;
    }

    private Frame Frame(double seconds)
    {
        var at = Instant.Floor(_time.GetUtcNow()) + TimeSpan.FromSeconds(seconds);
        return new Frame { Washer = "line-1", Group = 0, Kind = FrameKind.Failed, Read = new TimeBounds(at, at), Reason = "no answer" };
    }

    private void Write(Func<string, string> change) => File.WriteAllText(SiteFile, change(File.ReadAllText(SiteFile)));

    private HistorianFile Open() => HistorianFile.Open(Store, new HistorianOptions { TailEntries = 0 }, _time);

    private IReadOnlyList<string> Names()
    {
        using var reader = HistorianFile.OpenReader(Store);
        return [.. reader.ReadFollowers().Select(f => f.Follower)];
    }

    private (int Code, string Output, string Errors) Run(params string[] arguments)
    {
        using var output = new StringWriter { NewLine = "\n" };
        using var errors = new StringWriter { NewLine = "\n" };
        var code = FollowersCommand.Create(_time).Parse(arguments).Invoke(new InvocationConfiguration { Output = output, Error = errors });
        return (code, output.ToString(), errors.ToString());
    }
}
