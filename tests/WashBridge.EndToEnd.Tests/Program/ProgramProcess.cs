using System.Diagnostics;
using System.Text;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>The program as a process of its own, as its users start it. Always ended by its own id.</summary>
internal sealed class ProgramProcess : IAsyncDisposable
{
    private readonly Process _process;
    private readonly StringBuilder _output = new();
    private readonly List<(Predicate<string> Fits, TaskCompletionSource Seen)> _waits = [];
    private readonly Task _reading;
    private readonly Task<string> _errors;

    private ProgramProcess(Process process)
    {
        _process = process;
        _reading = Task.Run(ReadAsync);
        _errors = process.StandardError.ReadToEndAsync();
    }

    public string Output
    {
        get
        {
            lock (_output)
            {
                return _output.ToString();
            }
        }
    }

    /// <summary>Ctrl-C reaches it also where the tests themselves run in the background of a shell, which ignores it.</summary>
    public static ProgramProcess Start(params string[] arguments) => new(Process.Start(new ProcessStartInfo("env", ["--default-signal=INT", "dotnet", Path.Combine(AppContext.BaseDirectory, "washbridge.dll"), .. arguments])
    {
        RedirectStandardOutput = true,
        RedirectStandardError = true,
        RedirectStandardInput = true,
    })!);

    /// <summary>Runs it to its end.</summary>
    public static async Task<(int Exit, string Output, string Errors)> RunAsync(CancellationToken cancellation, params string[] arguments)
    {
        await using var program = Start(arguments);
        return await program.EndAsync(cancellation);
    }

    public async Task SeeAsync(string text, CancellationToken cancellation)
    {
        var seen = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        lock (_output)
        {
            if (_output.ToString().Contains(text, StringComparison.Ordinal))
            {
                return;
            }

            _waits.Add((line => line.Contains(text, StringComparison.Ordinal), seen));
        }

        if (await Task.WhenAny(seen.Task, _reading).WaitAsync(cancellation) != seen.Task)
        {
            throw new InvalidOperationException($"the program ended without saying '{text}':\n{Output}\n{await _errors}");
        }
    }

    public void Interrupt() => Process.Start("kill", ["-INT", _process.Id.ToString()]).WaitForExit();

    public async Task KillAsync()
    {
        _process.Kill();
        await _process.WaitForExitAsync();
    }

    public async Task<(int Exit, string Output, string Errors)> EndAsync(CancellationToken cancellation)
    {
        try
        {
            await _process.WaitForExitAsync(cancellation);
        }
        catch (OperationCanceledException)
        {
            throw new TimeoutException($"the program did not end; it said:\n{Output}");
        }

        await _reading;
        return (_process.ExitCode, Output, await _errors);
    }

    public async ValueTask DisposeAsync()
    {
        if (!_process.HasExited)
        {
            await KillAsync();
        }

        await _reading;
        _process.Dispose();
    }

    private async Task ReadAsync()
    {
        while (await _process.StandardOutput.ReadLineAsync() is { } line)
        {
            lock (_output)
            {
                _output.AppendLine(line);
                foreach (var wait in _waits.Where(w => w.Fits(line)))
                {
                    wait.Seen.TrySetResult();
                }
            }
        }
    }
}
