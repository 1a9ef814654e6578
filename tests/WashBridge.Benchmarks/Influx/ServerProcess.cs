using System.ComponentModel;
using System.Diagnostics;

namespace WashBridge.Benchmarks.Influx;

/// <summary>A program that serves: started, waited for by what it writes, and ended by its own process.</summary>
internal static class ServerProcess
{
    private const int LinesKept = 40;

    /// <summary>Returns when the program has written a line that holds <paramref name="ready"/>.</summary>
    public static async Task<Process> StartAsync(string program, IEnumerable<string> arguments, string ready, CancellationToken cancellation)
    {
        var process = new Process { StartInfo = new ProcessStartInfo(program, arguments) { RedirectStandardError = true, RedirectStandardOutput = true, RedirectStandardInput = true } };
        var said = new List<string>();
        var isReady = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        void Hear(string? line)
        {
            if (line is null)
            {
                isReady.TrySetException(new InvalidOperationException($"{program} ended: {string.Join('\n', said)}"));
                return;
            }

            if (said.Count < LinesKept)
            {
                said.Add(line);
            }

            if (line.Contains(ready, StringComparison.Ordinal))
            {
                isReady.TrySetResult();
            }
        }

        process.ErrorDataReceived += (_, e) => Hear(e.Data);
        process.OutputDataReceived += (_, _) => { };
        try
        {
            process.Start();
        }
        catch (Win32Exception e)
        {
            throw new InvalidOperationException($"{program} is needed for this test and cannot be started: {e.Message}", e);
        }

        process.BeginErrorReadLine();
        process.BeginOutputReadLine();
        try
        {
            await isReady.Task.WaitAsync(cancellation);
            return process;
        }
        catch
        {
            await KillAsync(process);
            throw;
        }
    }

    public static async Task KillAsync(Process process)
    {
        process.Kill();
        await process.WaitForExitAsync(CancellationToken.None);
        process.Dispose();
    }
}
