using System.Net;
using System.Text.Json;
using WashBridge.Commands;
using WashBridge.Core.Cycles;
using WashBridge.Historian;

namespace WashBridge.Orders;

/// <summary>
/// Brings what a person told on the command line to where it is kept. A historian has one writer: while the service runs it takes it by HTTP, and
/// only while nobody writes to the file it is written directly.
/// </summary>
/// <param name="Store">The historian's file.</param>
/// <param name="Service">Address of the running service; null: not given.</param>
/// <param name="Output">For the event's id.</param>
/// <param name="Errors">For what is wrong.</param>
/// <param name="Token">Where the service asks for a login; null: none.</param>
/// <param name="WhileInUse">Where to try while another program writes to the file; null: nowhere.</param>
internal sealed record Delivery(FileInfo Store, Uri? Service, TextWriter Output, TextWriter Errors, string? Token = null, Uri? WhileInUse = null)
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(10);

    /// <param name="path">Where the service takes it.</param>
    /// <param name="told">What it takes.</param>
    /// <param name="make">Makes the event where it is written directly, from the historian and the time now.</param>
    /// <param name="time">For the historian.</param>
    /// <returns>An exit code.</returns>
    public async Task<int> BringAsync<T>(string path, T told, Func<IHistorian, DateTimeOffset, WashEvent> make, TimeProvider time, CancellationToken cancellation)
    {
        if (Service is not null)
        {
            return await SendAsync(new Uri(Service, "/" + path), told, cancellation);
        }

        if (!Store.Exists)
        {
            await Errors.WriteLineAsync($"{Store.FullName}: no such file. Give the historian's file, as `run` and `demo` print it at start.");
            return ExitCodes.ConfigurationErrors;
        }

        try
        {
            using var historian = Historian.Historian.Open(Store.FullName, new HistorianOptions(), time);
            var made = new RecordDesk(historian, signal: null, time).Take(make);
            await Output.WriteLineAsync($"recorded: {made.Id}");
            await Output.WriteLineAsync("No service is running on this store. The analysis takes it in when the service starts.");
            return ExitCodes.Success;
        }
        catch (TellingException refused)
        {
            await Errors.WriteLineAsync(refused.Message);
            return ExitCodes.ConfigurationErrors;
        }
        catch (HistorianException inUse) when (inUse.Fault == HistorianFault.InUse && WhileInUse is not null)
        {
            return await SendAsync(new Uri(WhileInUse, "/" + path), told, cancellation);
        }
        catch (HistorianException inUse) when (inUse.Fault == HistorianFault.InUse)
        {
            await Errors.WriteLineAsync($"{Store.FullName}: the service is writing to it. Name the service with --service http://127.0.0.1:PORT, or the site's file with --site; its http.port must be set.");
            return ExitCodes.StoreErrors;
        }
    }

    private async Task<int> SendAsync<T>(Uri address, T told, CancellationToken cancellation)
    {
        if (!address.IsLoopback && address.Scheme != Uri.UriSchemeHttps)
        {
            await Errors.WriteLineAsync($"--service {address}: without TLS the service takes orders on its own machine only. Allowed: an address such as http://127.0.0.1:8480, or https with a token.");
            return ExitCodes.ConfigurationErrors;
        }

        using var client = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false }) { Timeout = Patience };
        client.DefaultRequestHeaders.Authorization = string.IsNullOrEmpty(Token) ? null : new System.Net.Http.Headers.AuthenticationHeaderValue("Bearer", Token);
        try
        {
            using var answer = await client.PostAsJsonAsync(address, told, JsonSerializerOptions.Web, cancellation);
            var text = (await answer.Content.ReadAsStringAsync(cancellation)).Trim();
            if (answer.IsSuccessStatusCode)
            {
                await Output.WriteLineAsync($"recorded: {text}");
                return ExitCodes.Success;
            }

            await Errors.WriteLineAsync(Refusal(address, answer, text));
            return ExitCodes.ConfigurationErrors;
        }
        catch (Exception failure) when (failure is HttpRequestException or TaskCanceledException && !cancellation.IsCancellationRequested)
        {
            await Errors.WriteLineAsync($"{address}: nobody answers ({failure.Message}). Is the service running, and is http.port set in the site's file?");
            return ExitCodes.StoreErrors;
        }
    }

    /// <summary>The service's own reason, or what its status means here.</summary>
    private string Refusal(Uri address, HttpResponseMessage answer, string text) => answer.StatusCode switch
    {
        HttpStatusCode.Unauthorized when string.IsNullOrEmpty(Token) => $"{address}: asks for a login; give a token by --token-file or {OrderOptions.TokenVariable}. An administrator makes one: washbridge tokens add",
        HttpStatusCode.Unauthorized => $"{address}: the token is unknown, expired or revoked. An administrator makes another: washbridge tokens add",
        _ when answer.Content.Headers.ContentType?.MediaType == "text/plain" && text.Length > 0 => text,
        HttpStatusCode.Forbidden => $"{address}: the role of this token may only look; allowed: operator and those above",
        HttpStatusCode.TooManyRequests => $"{address}: takes no more requests now; try again in a minute",
        _ => $"{address}: answered {(int)answer.StatusCode}. Is this the port of `http` in the site's file?",
    };
}
