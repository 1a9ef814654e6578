using System.Collections.Concurrent;
using Microsoft.Extensions.Time.Testing;

namespace WashBridge.Protocols.Tests.OpcUa.Client;

/// <summary>Runs tasks on the thread of the test, one after the other, and lets time pass only when there is nothing left to do.</summary>
internal sealed class StepScheduler(FakeTimeProvider time) : TaskScheduler
{
    private static readonly TimeSpan Step = TimeSpan.FromMilliseconds(5);
    private readonly ConcurrentQueue<Task> queue = new();

    public void RunAll()
    {
        while (queue.TryDequeue(out var task))
        {
            TryExecuteTask(task);
        }
    }

    public void Run(TimeSpan duration)
    {
        for (var passed = TimeSpan.Zero; passed < duration; passed += Step)
        {
            RunAll();
            time.Advance(Step);
        }

        RunAll();
    }

    /// <summary>Lets time pass until something is so.</summary>
    /// <returns>How long it took.</returns>
    public TimeSpan RunUntil(Func<bool> isSo, TimeSpan? atMost = null, string what = "what was expected")
    {
        var most = atMost ?? TimeSpan.FromSeconds(30);
        for (var passed = TimeSpan.Zero; ; passed += Step)
        {
            RunAll();
            if (isSo())
            {
                return passed;
            }

            Assert.True(passed < most, $"{what} did not happen within {most}");
            time.Advance(Step);
        }
    }

    /// <summary>Runs a task of the test to its end.</summary>
    public T Run<T>(Func<Task<T>> act)
    {
        var task = Task.Factory.StartNew(act, CancellationToken.None, TaskCreationOptions.None, this).Unwrap();
        for (var steps = 0; !task.IsCompleted; steps++)
        {
            Assert.True(steps < 10_000, "the call did not end within 50 s");
            RunAll();

            // What is cancelled may come back by way of the thread pool.
            if (!SpinWait.SpinUntil(() => task.IsCompleted || !queue.IsEmpty, TimeSpan.FromMilliseconds(1)))
            {
                time.Advance(Step);
            }
        }

        return task.GetAwaiter().GetResult();
    }

    public void Run(Func<Task> act) => Run(async () =>
    {
        await act();
        return true;
    });

    protected override void QueueTask(Task task) => queue.Enqueue(task);

    protected override bool TryExecuteTaskInline(Task task, bool taskWasPreviouslyQueued) => false;

    protected override IEnumerable<Task> GetScheduledTasks() => [.. queue];
}
