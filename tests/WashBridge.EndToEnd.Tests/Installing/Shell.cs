using System.Diagnostics;

namespace WashBridge.EndToEnd.Tests.Installing;

/// <summary>Commands as a person types them, in a shell of their own.</summary>
internal static class Shell
{
    /// <summary>Building the program takes minutes on a loaded machine.</summary>
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(10);

    /// <returns>What it printed; fails where any command fails.</returns>
    public static async Task<string> RunAsync(string commands, string? folder = null, string? path = null)
    {
        var (exit, output) = await TryAsync(commands, folder, path);
        Assert.True(exit == 0, $"exit code {exit} of\n{commands}\n{output}");
        return output;
    }

    /// <param name="commands">For bash, which ends at the first that fails.</param>
    /// <param name="folder">Where; null: the repository's root.</param>
    /// <param name="path">Looked through for programs before all others.</param>
    public static async Task<(int Exit, string Output)> TryAsync(string commands, string? folder = null, string? path = null)
    {
        using var process = Process.Start(new ProcessStartInfo("bash", ["-euo", "pipefail", "-c", "exec 2>&1 </dev/null\n" + commands])
        {
            RedirectStandardOutput = true,
            WorkingDirectory = folder ?? Repository.Root,
            Environment = { ["PATH"] = path is null ? Environment.GetEnvironmentVariable("PATH") : $"{path}:{Environment.GetEnvironmentVariable("PATH")}" },
        })!;
        using var patience = new CancellationTokenSource(Patience);
        try
        {
            var output = await process.StandardOutput.ReadToEndAsync(patience.Token);
            await process.WaitForExitAsync(patience.Token);
            return (process.ExitCode, output);
        }
        catch (OperationCanceledException)
        {
            process.Kill(entireProcessTree: true);
            throw new TimeoutException($"still running after {Patience}:\n{commands}");
        }
    }
}
