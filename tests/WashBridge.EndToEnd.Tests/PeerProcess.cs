using System.Collections.Concurrent;
using System.Diagnostics;
using System.Threading.Channels;

namespace WashBridge.EndToEnd.Tests;

/// <summary>
/// A program outside this one. A server prints "READY port" when it listens, and ends when its standard input does, so
/// that none outlives the tests; disposing ends it by its own id in any case.
/// </summary>
internal sealed class PeerProcess : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    private readonly Process process;
    private readonly ConcurrentQueue<string> output = new();
    private readonly Channel<string> answers = Channel.CreateUnbounded<string>();
    private readonly TaskCompletionSource<string> ready = new(TaskCreationOptions.RunContinuationsAsynchronously);

    private PeerProcess(string file, IEnumerable<string> arguments)
    {
        process = new Process
        {
            StartInfo = new ProcessStartInfo(file, arguments)
            {
                RedirectStandardInput = true,
                RedirectStandardOutput = true,
                RedirectStandardError = true,
                WorkingDirectory = PeerFolder,
            },
            EnableRaisingEvents = true,
        };
        process.OutputDataReceived += (_, e) => NoteOutput(e.Data);
        process.ErrorDataReceived += (_, e) => Note(e.Data);
    }

    /// <summary>Where the peers' sources lie.</summary>
    public static string PeerFolder { get; } = Path.Combine(Repository.Root, "tests", "peers");

    public int Id => process.Id;

    /// <summary>What came after READY: for most servers their port.</summary>
    public string Announced { get; private set; } = "";

    public int Port => int.Parse(Announced);

    /// <summary>All lines printed so far.</summary>
    public string Output => string.Join('\n', output);

    /// <summary>One of the programs built by tests/peers/install.</summary>
    public static string Built(string name)
    {
        var path = Path.Combine(Repository.Root, "artifacts", "peers", name);
        return File.Exists(path) ? path : throw new FileNotFoundException("run tests/peers/install first", path);
    }

    /// <summary>Starts a server and waits until it is ready.</summary>
    public static async Task<PeerProcess> ServeAsync(string file, params string[] arguments)
    {
        var peer = new PeerProcess(file, arguments);
        try
        {
            peer.Start();
            var ended = peer.process.WaitForExitAsync(TestContext.Current.CancellationToken);
            if (await Task.WhenAny(peer.ready.Task, ended).WaitAsync(Patience, TestContext.Current.CancellationToken) == ended)
            {
                throw new InvalidOperationException($"{file} ended before it was ready:\n{peer.Output}");
            }

            peer.Announced = await peer.ready.Task;
            return peer;
        }
        catch
        {
            await peer.DisposeAsync();
            throw;
        }
    }

    /// <summary>Runs a program to its end.</summary>
    public static async Task<(int ExitCode, string Output)> RunAsync(string file, params string[] arguments)
    {
        await using var peer = new PeerProcess(file, arguments);
        peer.Start();
        await peer.process.WaitForExitAsync(TestContext.Current.CancellationToken).WaitAsync(Patience, TestContext.Current.CancellationToken);
        return (peer.process.ExitCode, peer.Output);
    }

    /// <summary>The next line of standard output that is a JSON object.</summary>
    public async Task<string> NextAnswerAsync()
    {
        try
        {
            return await answers.Reader.ReadAsync(TestContext.Current.CancellationToken).AsTask().WaitAsync(Patience, TestContext.Current.CancellationToken);
        }
        catch (Exception e) when (e is ChannelClosedException or TimeoutException)
        {
            throw new InvalidOperationException($"no answer; all it printed:\n{Output}", e);
        }
    }

    /// <summary>Gives it one line and waits for the JSON object with which it answers. One question at a time.</summary>
    public async Task<string> AskAsync(string line)
    {
        await process.StandardInput.WriteLineAsync(line.AsMemory(), TestContext.Current.CancellationToken);
        await process.StandardInput.FlushAsync(TestContext.Current.CancellationToken);
        return await NextAnswerAsync();
    }

    /// <summary>Ends it at once, as a power cut would.</summary>
    public async Task KillAsync()
    {
        if (!process.HasExited)
        {
            process.Kill(entireProcessTree: true);
        }

        await process.WaitForExitAsync();
    }

    public async ValueTask DisposeAsync()
    {
        try
        {
            await KillAsync();
        }
        catch (InvalidOperationException)
        {
            // It could not even be started.
        }

        process.Dispose();
    }

    private void Start()
    {
        process.Start();
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
    }

    private void NoteOutput(string? line)
    {
        Note(line);
        if (line is null)
        {
            answers.Writer.TryComplete();
        }
        else if (line.StartsWith('{'))
        {
            answers.Writer.TryWrite(line);
        }
    }

    private void Note(string? line)
    {
        if (line is null)
        {
            return;
        }

        output.Enqueue(line);
        if (line == "READY" || line.StartsWith("READY ", StringComparison.Ordinal))
        {
            ready.TrySetResult(line.Length > 6 ? line[6..] : "");
        }
    }
}
