using System.Globalization;
using System.Text;
using WashBridge.Pipeline;

namespace WashBridge.Web.Live;

/// <summary>
/// Tells open pages once a second how far the log has come (server-sent events, HTML Living Standard 9.2): a page that shows something newer asks for it anew.
/// A page that hears nothing knows that what it shows is old.
/// </summary>
internal sealed class LiveStream(HistorianSignal signal, IHostApplicationLifetime lifetime)
{
    public const string Address = "/live";

    /// <summary>Open pages; one more is told to try again later.</summary>
    public const int Most = 200;

    /// <summary>Of real time, however fast the washing goes: people read these pages.</summary>
    private static readonly TimeSpan Every = TimeSpan.FromSeconds(1);

    private int _open;

    public async Task SendAsync(HttpContext context)
    {
        if (Interlocked.Increment(ref _open) > Most)
        {
            Interlocked.Decrement(ref _open);
            context.Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
            return;
        }

        try
        {
            using var ending = CancellationTokenSource.CreateLinkedTokenSource(context.RequestAborted, lifetime.ApplicationStopping);
            using var timer = new PeriodicTimer(Every, TimeProvider.System);
            context.Response.ContentType = "text/event-stream";
            do
            {
                var line = string.Create(CultureInfo.InvariantCulture, $"data: {signal.Last}\n\n");
                await context.Response.Body.WriteAsync(Encoding.ASCII.GetBytes(line), ending.Token);
                await context.Response.Body.FlushAsync(ending.Token);
            }
            while (await timer.WaitForNextTickAsync(ending.Token));
        }
        catch (OperationCanceledException)
        {
            // The page was left, or the service ends.
        }
        finally
        {
            Interlocked.Decrement(ref _open);
        }
    }
}
