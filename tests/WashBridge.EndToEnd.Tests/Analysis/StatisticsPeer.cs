using System.Diagnostics;
using System.Globalization;

namespace WashBridge.EndToEnd.Tests.Analysis;

/// <summary>Published statistics packages as judges of ours: a script for R or Python is run to its end, and the numbers it printed come back.</summary>
internal static class StatisticsPeer
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(120);

    /// <summary>Runs a script by R; packages are those that tests/peers/install puts in place. Data can be read from <c>file("stdin")</c>.</summary>
    public static Task<string[]> RAsync(string script, string input = "") => RunAsync("/usr/bin/Rscript", ".R", ["--vanilla"], script, input);

    /// <summary>Runs a script by Debian's Python, which has scipy. Data can be read from <c>sys.stdin</c>.</summary>
    public static Task<string[]> PythonAsync(string script, string input = "") => RunAsync("/usr/bin/python3", ".py", ["-I"], script, input);

    /// <summary>The numbers of a line that are separated by spaces, tabs or commas; Inf, NaN and NA (as NaN) included.</summary>
    public static double[] Numbers(string line) => [.. line.Split([' ', '\t', ','], StringSplitOptions.RemoveEmptyEntries).Select(Number)];

    /// <summary>A number as both languages read it, to the last bit.</summary>
    public static string Write(double value) => value switch
    {
        double.PositiveInfinity => "Inf",
        double.NegativeInfinity => "-Inf",
        _ => value.ToString("R", CultureInfo.InvariantCulture),
    };

    private static double Number(string text) => text.ToLowerInvariant() switch
    {
        "inf" => double.PositiveInfinity,
        "-inf" => double.NegativeInfinity,
        "nan" or "na" => double.NaN,
        _ => double.Parse(text, CultureInfo.InvariantCulture),
    };

    private static async Task<string[]> RunAsync(string program, string extension, string[] options, string script, string input)
    {
        if (!File.Exists(program))
        {
            throw new FileNotFoundException("run tests/peers/install first", program);
        }

        var file = Path.Combine(Path.GetTempPath(), $"washbridge-test-{Guid.NewGuid():N}{extension}");
        await File.WriteAllTextAsync(file, script, TestContext.Current.CancellationToken);
        try
        {
            return await RunFileAsync(program, [.. options, file], input);
        }
        finally
        {
            File.Delete(file);
        }
    }

    private static async Task<string[]> RunFileAsync(string program, string[] arguments, string input)
    {
        using var process = new Process
        {
            StartInfo = new ProcessStartInfo(program, arguments) { RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true },
        };
        process.Start();
        try
        {
            // All three at once: whichever pipe is full first must not stop the others.
            var output = process.StandardOutput.ReadToEndAsync(TestContext.Current.CancellationToken);
            var errors = process.StandardError.ReadToEndAsync(TestContext.Current.CancellationToken);
            await GiveAsync(process, input);
            await Task.WhenAll(output, errors, process.WaitForExitAsync(TestContext.Current.CancellationToken)).WaitAsync(Patience, TestContext.Current.CancellationToken);
            return process.ExitCode == 0
                ? (await output).Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
                : throw new InvalidOperationException($"{program} ended with {process.ExitCode}:\n{await errors}\n{await output}");
        }
        finally
        {
            if (!process.HasExited)
            {
                process.Kill(entireProcessTree: true);
            }
        }
    }

    private static async Task GiveAsync(Process process, string input)
    {
        try
        {
            await process.StandardInput.WriteAsync(input.AsMemory(), TestContext.Current.CancellationToken);
            process.StandardInput.Close();
        }
        catch (IOException)
        {
            // It ended without reading all of it; its exit code says whether that was wrong.
        }
    }
}
