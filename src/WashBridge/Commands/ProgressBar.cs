using Spectre.Console;
using WashBridge.Historian;

namespace WashBridge.Commands;

/// <summary>How far long work has come, on the terminal.</summary>
internal sealed class ProgressBar(ProgressTask task) : IProgress<HistorianProgress>
{
    public void Report(HistorianProgress value)
    {
        task.MaxValue = Math.Max(1, value.Total);
        task.Value = value.Done;
    }
}
