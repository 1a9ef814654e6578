using System.Diagnostics;

namespace WashBridge.EndToEnd.Tests.Reports;

/// <summary>A program that reads what a report was written to.</summary>
internal static class OutsideReader
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(120);

    /// <summary>What it prints; it fails the test where it says that it failed.</summary>
    public static async Task<string> ReadAsync(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true, StandardOutputEncoding = System.Text.Encoding.UTF8 })!;
        using var deadline = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        deadline.CancelAfter(Patience);
        var (output, errors) = (process.StandardOutput.ReadToEndAsync(deadline.Token), process.StandardError.ReadToEndAsync(deadline.Token));
        try
        {
            await process.WaitForExitAsync(deadline.Token);
        }
        catch (OperationCanceledException)
        {
            process.Kill(entireProcessTree: true);
            throw;
        }

        Assert.True(process.ExitCode == 0, $"{program} {string.Join(' ', arguments)}: {process.ExitCode}, {await errors}");
        return await output;
    }
}
