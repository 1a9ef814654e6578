using System.Diagnostics;

namespace WashBridge.Protocols.Tests.OpcUa.Security;

/// <summary>The openssl program: somebody else's reading of what our code makes, and the reverse.</summary>
internal static class OpenSsl
{
    /// <returns>What it wrote to its standard output; a failure throws with what it wrote to the other.</returns>
    public static string Run(params string[] arguments)
    {
        var start = new ProcessStartInfo("openssl", arguments) { RedirectStandardOutput = true, RedirectStandardError = true, RedirectStandardInput = true };
        using var process = Process.Start(start)!;
        process.StandardInput.Close();
        var errors = process.StandardError.ReadToEndAsync();
        var output = process.StandardOutput.ReadToEnd();
        Assert.True(process.WaitForExit(TimeSpan.FromSeconds(60)), "openssl does not end");
        Assert.True(process.ExitCode == 0, $"openssl {string.Join(' ', arguments)}: {errors.Result}");
        return output;
    }
}
