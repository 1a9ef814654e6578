using System.Net;
using System.Text.Json;

namespace WashBridge.Forwarding;

/// <summary>
/// Insists on 204 and turns every other answer into an <see cref="InfluxWriteException"/>. The client would take a proxy's page with
/// status 200 for success, and would throw FormatException at a Retry-After that is a date or a fraction.
/// </summary>
internal sealed class AnswerCheck(TimeProvider time) : DelegatingHandler
{
    /// <summary>A server may repeat every line it refuses; the beginning says enough.</summary>
    private const int MaxReason = 2000;

    protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
    {
        var response = await base.SendAsync(request, cancellationToken);
        if (response.StatusCode == HttpStatusCode.NoContent)
        {
            return response;
        }

        using (response)
        {
            var body = await ReadAsync(response, cancellationToken);
            var failure = Classify(response.StatusCode, body);
            throw new InfluxWriteException(
                failure, Describe(response, body), response.StatusCode, RetryAfter.Read(response.Headers, time.GetUtcNow()));
        }
    }

    private static InfluxFailure Classify(HttpStatusCode status, string body) => (int)status switch
    {
        // A proxy answers 400 too, for reasons of its own and with a page; only the server's own word condemns lines.
        400 or 422 => IsServersWord(body) ? InfluxFailure.Lines : InfluxFailure.Unexpected,
        413 => InfluxFailure.Lines,
        401 or 403 => InfluxFailure.Unauthorised,
        404 => InfluxFailure.NotFound,
        429 or 503 => InfluxFailure.Busy,
        408 or 504 => InfluxFailure.TimedOut,
        >= 500 => InfluxFailure.ServerError,
        _ => InfluxFailure.Unexpected,
    };

    /// <summary>1.x: <c>{"error":"..."}</c>. 2.x: <c>{"code":"...","message":"..."}</c>. Cut off at our limit it is no longer valid JSON.</summary>
    private static bool IsServersWord(string body)
    {
        var start = body.AsSpan().TrimStart();
        return start.StartsWith("{") && (start.Contains("\"error\"", StringComparison.Ordinal) || start.Contains("\"message\"", StringComparison.Ordinal));
    }

    private static string Describe(HttpResponseMessage response, string body)
    {
        var status = $"{(int)response.StatusCode} {response.ReasonPhrase}".TrimEnd();
        var target = response.Headers.Location is { } location ? $" to {location}" : "";
        return body.Length == 0 ? status + target : $"{status}{target}: {Message(body)}";
    }

    /// <summary>The text inside the server's JSON, or the body as it is.</summary>
    private static string Message(string body)
    {
        try
        {
            using var json = JsonDocument.Parse(body);
            foreach (var name in (string[])["error", "message"])
            {
                if (json.RootElement.ValueKind == JsonValueKind.Object && json.RootElement.TryGetProperty(name, out var text))
                {
                    return text.ToString();
                }
            }
        }
        catch (JsonException)
        {
            // A page, or cut off: shown as it is.
        }

        return body.ReplaceLineEndings(" ");
    }

    private static async Task<string> ReadAsync(HttpResponseMessage response, CancellationToken cancellation)
    {
        using var reader = new StreamReader(await response.Content.ReadAsStreamAsync(cancellation));
        var text = new char[MaxReason];
        var read = await reader.ReadBlockAsync(text, cancellation);
        return new string(text, 0, read);
    }
}
