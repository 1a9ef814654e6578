namespace WashBridge.Protocols.Tests.OpcUa.Fuzzing;

/// <summary>
/// A run of mutated messages with a new seed each time, which is printed. WASHBRIDGE_LONG multiplies the number of messages;
/// WASHBRIDGE_FUZZ_SEED repeats a run.
/// </summary>
internal sealed class FuzzRun
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    private readonly ITestOutputHelper log;
    private readonly long count;
    private long done;
    private byte[] current = [];

    public FuzzRun(ITestOutputHelper log, long count)
    {
        this.log = log;
        this.count = count * (int.TryParse(Environment.GetEnvironmentVariable("WASHBRIDGE_LONG"), out var times) ? times : 1);
        Seed = int.TryParse(Environment.GetEnvironmentVariable("WASHBRIDGE_FUZZ_SEED"), out var seed) ? seed : Environment.TickCount;
        Random = new Random(Seed);
        log.WriteLine($"seed {Seed}");
    }

    public int Seed { get; }

    public Random Random { get; }

    /// <summary>Tries message after message. One that is not done with in a minute fails the run, as does one that throws.</summary>
    public async Task ForEachAsync(Func<byte[]> next, Action<byte[]> attempt)
    {
        var work = Task.Factory.StartNew(
            () =>
            {
                for (; done < count; done++)
                {
                    current = next();
                    try
                    {
                        attempt(current);
                    }
                    catch (Exception e)
                    {
                        throw new InvalidOperationException($"seed {Seed}, message {done}: {Shown(current)}", e);
                    }
                }
            },
            CancellationToken.None,
            TaskCreationOptions.LongRunning,
            TaskScheduler.Default);
        for (var before = -1L; !work.IsCompleted;)
        {
            await Task.WhenAny(work, Task.Delay(Patience, TimeProvider.System, TestContext.Current.CancellationToken));
            var now = Volatile.Read(ref done);
            Assert.True(work.IsCompleted || now != before, $"seed {Seed}, message {now} hangs: {Shown(Volatile.Read(ref current))}");
            before = now;
        }

        await work;
        log.WriteLine($"{done} messages");
    }

    private static string Shown(byte[] bytes) => bytes.Length <= 4096 ? Convert.ToHexStringLower(bytes) : $"{Convert.ToHexStringLower(bytes.AsSpan(0, 4096))}... ({bytes.Length} bytes)";
}
