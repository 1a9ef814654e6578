using System.Collections.Concurrent;
using System.Net;
using WashBridge.Demo;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>Takes what is sent by the OpenTelemetry protocol over HTTP, and keeps it (OTLP specification, "OTLP/HTTP request": POST, application/x-protobuf).</summary>
internal sealed class Collector : IAsyncDisposable
{
    private readonly HttpListener _listener = new();
    private readonly ConcurrentDictionary<string, ConcurrentBag<byte[]>> _taken = new();
    private readonly Task _serving;

    public Collector()
    {
        Address = $"http://127.0.0.1:{DemoPages.Choose(0)}/";
        _listener.Prefixes.Add(Address);
        _listener.Start();
        _serving = Task.Run(ServeAsync);
    }

    public string Address { get; }

    /// <summary>Waits until all of these texts were sent to a path, in whatever requests.</summary>
    public async Task SeeAsync(string path, IReadOnlyList<string> texts, CancellationToken deadline)
    {
        var sought = texts.Select(System.Text.Encoding.UTF8.GetBytes).ToList();
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(50));
        while (!sought.TrueForAll(text => _taken.GetValueOrDefault(path, []).Any(body => body.AsSpan().IndexOf(text) >= 0)))
        {
            if (!await look.WaitForNextTickAsync(deadline))
            {
                return;
            }
        }
    }

    public async ValueTask DisposeAsync()
    {
        _listener.Close();
        await _serving;
    }

    private async Task ServeAsync()
    {
        try
        {
            while (true)
            {
                var context = await _listener.GetContextAsync();
                using var body = new MemoryStream();
                await context.Request.InputStream.CopyToAsync(body);
                if (context.Request is { HttpMethod: "POST", ContentType: "application/x-protobuf" })
                {
                    _taken.GetOrAdd(context.Request.Url!.AbsolutePath, _ => []).Add(body.ToArray());
                }

                context.Response.Close();
            }
        }
        catch (Exception closed) when (closed is HttpListenerException or ObjectDisposedException)
        {
        }
    }
}
