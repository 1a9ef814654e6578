using System.Diagnostics;
using WashBridge.Benchmarks;

namespace WashBridge.EndToEnd.Tests.Historian;

/// <summary>A process of the bench program, ended by its own id whatever happens.</summary>
internal sealed class ChildProcess : IDisposable
{
    private readonly Process _process;

    private ChildProcess(Process process) => _process = process;

    public StreamReader Output => _process.StandardOutput;

    public StreamReader Error => _process.StandardError;

    /// <param name="bench">The bench's name and arguments.</param>
    /// <param name="userId">Run as this user (root may); null: as the test's own.</param>
    public static ChildProcess Start(string[] bench, int? userId = null)
    {
        string[] command = ["dotnet", typeof(HistorianWriterChild).Assembly.Location, .. bench];
        if (userId is { } user)
        {
            command = ["setpriv", $"--reuid={user}", $"--regid={user}", "--clear-groups", .. command];
        }

        var start = new ProcessStartInfo(command[0], command[1..]) { RedirectStandardOutput = true, RedirectStandardError = true };
        return new ChildProcess(Process.Start(start) ?? throw new InvalidOperationException($"{command[0]} did not start"));
    }

    /// <summary>SIGKILL.</summary>
    public void Kill()
    {
        _process.Kill();
        _process.WaitForExit();
    }

    public int WaitForExit()
    {
        _process.WaitForExit();
        return _process.ExitCode;
    }

    public void Dispose()
    {
        if (!_process.HasExited)
        {
            Kill();
        }

        _process.Dispose();
    }
}
