using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Core.Signals;
using WashBridge.Core.Time;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Commands;

public sealed class HealthCommandTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();
    private readonly SettableTime _time = new(new DateTimeOffset(2031, 3, 5, 8, 0, 0, TimeSpan.Zero));

    public HealthCommandTests()
    {
        var example = Path.Combine(Repository.Root, "config", "example");
        foreach (var file in Directory.GetFiles(example, "*.yaml", SearchOption.AllDirectories))
        {
            var copy = Path.Combine(_folder["site"], Path.GetRelativePath(example, file));
            Directory.CreateDirectory(Path.GetDirectoryName(copy)!);
            File.WriteAllText(copy, File.ReadAllText(file).Replace("../../data/example.db", "../plant.washdb", StringComparison.Ordinal));
        }
    }

    public void Dispose() => _folder.Dispose();

    [Theory]
    [InlineData(120, "2", ExitCodes.Success)]
    [InlineData(121, "2", ExitCodes.Failure)]
    [InlineData(121, "3", ExitCodes.Success)]
    [InlineData(-3600, "2", ExitCodes.Success)]
    public void The_service_works_as_long_as_the_last_read_is_young_also_a_failed_one(int age, string within, int expected)
    {
        using var historian = Open();
        var at = Instant.Floor(_time.GetUtcNow());
        historian.AppendFrames([new Frame { Washer = "w1", Group = 0, Kind = FrameKind.Failed, Read = new TimeBounds(at, at), Reason = "no answer" }]);
        _time.SetWallClockBy(TimeSpan.FromSeconds(age));

        var (code, output, errors) = Run("--within", within);

        Assert.Equal(expected, code);
        Assert.Contains($"number 1, is {age} s old; allowed: {int.Parse(within, null) * 60} s", expected == ExitCodes.Success ? output : errors, StringComparison.Ordinal);
    }

    [Fact]
    public void Without_a_store_or_with_an_empty_one_it_does_not_work()
    {
        var (code, _, errors) = Run();
        Assert.Equal(ExitCodes.StoreErrors, code);
        Assert.Contains("has it ever run?", errors, StringComparison.Ordinal);
        using var historian = Open();
        Assert.Equal(ExitCodes.Failure, Run().Code);
    }

    private HistorianFile Open() => HistorianFile.Open(_folder["plant.washdb"], new HistorianOptions(), _time);

    private (int Code, string Output, string Errors) Run(params string[] options)
    {
        using var output = new StringWriter();
        using var errors = new StringWriter();
        var code = HealthCommand.Create(_time).Parse([Path.Combine(_folder["site"], "site.yaml"), .. options]).Invoke(new InvocationConfiguration { Output = output, Error = errors });
        return (code, output.ToString(), errors.ToString());
    }
}
