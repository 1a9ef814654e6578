using System.Diagnostics;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace WashBridge.Benchmarks.OpcUa;

/// <summary>A process that is asked by JSON lines and answers by JSON lines: a peer of tests/peers, or a child of this program.</summary>
internal sealed class LinePeer : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(120);

    private readonly Process process;

    private LinePeer(string file, IEnumerable<string> arguments) => process = Process.Start(new ProcessStartInfo(file, arguments)
    {
        RedirectStandardInput = true,
        RedirectStandardOutput = true,
        RedirectStandardError = true,
        WorkingDirectory = PeerFolder,
    })!;

    public int Id => process.Id;

    private static string PeerFolder { get; } = Path.Combine(RepositoryRoot(AppContext.BaseDirectory), "tests", "peers");

    /// <summary>A script of tests/peers.</summary>
    public static Task<LinePeer> NodeAsync(string script, object? options, CancellationToken cancellation)
    {
        if (!Directory.Exists(Path.Combine(PeerFolder, "node_modules")))
        {
            throw new DirectoryNotFoundException("run tests/peers/install first");
        }

        return StartAsync("node", [script, JsonSerializer.Serialize(options ?? new object())], cancellation);
    }

    /// <summary>Another bench of this program.</summary>
    /// <param name="processors">As taskset takes them, such as 0 or 0,1; null: all.</param>
    public static Task<LinePeer> ChildAsync(string bench, CancellationToken cancellation, string? processors = null)
    {
        string[] command = ["dotnet", Path.Combine(AppContext.BaseDirectory, "WashBridge.Benchmarks.dll"), bench];
        return processors is null ? StartAsync(command[0], command[1..], cancellation) : StartAsync("taskset", ["-c", processors, .. command], cancellation);
    }

    /// <exception cref="InvalidOperationException">It answered an error, or ended.</exception>
    public async Task<JsonNode> AskAsync(object command, CancellationToken cancellation)
    {
        var line = command as string ?? JsonSerializer.Serialize(command, JsonSerializerOptions.Web);
        await process.StandardInput.WriteLineAsync(line.AsMemory(), cancellation);
        await process.StandardInput.FlushAsync(cancellation);
        var answer = await AnswerAsync(cancellation);
        return answer["error"] is { } error ? throw new InvalidOperationException($"{line[..Math.Min(80, line.Length)]}: {error}") : answer;
    }

    /// <summary>The next JSON line that it prints.</summary>
    public async Task<JsonNode> AnswerAsync(CancellationToken cancellation)
    {
        while (true)
        {
            var line = await process.StandardOutput.ReadLineAsync(cancellation).AsTask().WaitAsync(Patience, cancellation)
                ?? throw new InvalidOperationException($"process {process.StartInfo.FileName} {process.StartInfo.ArgumentList.FirstOrDefault()} ended");
            if (line.StartsWith('{'))
            {
                return JsonNode.Parse(line)!;
            }
        }
    }

    /// <summary>Processor time used so far.</summary>
    public TimeSpan Processor()
    {
        process.Refresh();
        return process.TotalProcessorTime;
    }

    public async ValueTask DisposeAsync()
    {
        process.StandardInput.Close();
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(5));
        try
        {
            await process.WaitForExitAsync(patience.Token);
        }
        catch (OperationCanceledException)
        {
            process.Kill();
        }

        process.Dispose();
    }

    private static async Task<LinePeer> StartAsync(string file, IEnumerable<string> arguments, CancellationToken cancellation)
    {
        var peer = new LinePeer(file, arguments);
        peer.process.ErrorDataReceived += static (_, _) => { };
        peer.process.BeginErrorReadLine();
        while (await peer.process.StandardOutput.ReadLineAsync(cancellation).AsTask().WaitAsync(Patience, cancellation) is { } line)
        {
            if (line.StartsWith("READY", StringComparison.Ordinal))
            {
                return peer;
            }
        }

        throw new InvalidOperationException($"{file} {string.Join(' ', arguments)} ended before it was ready");
    }

    private static string RepositoryRoot(string folder) =>
        File.Exists(Path.Combine(folder, "WashBridge.sln")) ? folder : RepositoryRoot(Path.GetDirectoryName(folder) ?? throw new DirectoryNotFoundException("no WashBridge.sln above the benches"));
}
