using System.Net.Http.Headers;
using InfluxDB.Client;
using InfluxDB.Client.Api.Domain;
using InfluxDB.Client.Core.Exceptions;
using WashBridge.Configuration;

namespace WashBridge.Forwarding;

/// <summary>
/// One write request, accepted or not. Nothing is queued, retried or buffered here: the client's background writer, which does that,
/// loses what it holds when the process ends.
/// </summary>
internal sealed class InfluxWriter : IDisposable
{
    /// <summary>The caller's token ends a request; the client's own limit only has to be longer than any the caller sets.</summary>
    private static readonly TimeSpan ClientLimit = TimeSpan.FromHours(1);

    /// <summary>The client insists on one; servers that know none ignore it.</summary>
    private const string NoOrganisation = "-";

    /// <summary>The client takes text only and copies it four times on its way. The lines are bytes already, so this stands in for them.</summary>
    private const string StandIn = "-";

    private readonly LinesBody _body = new();
    private readonly HttpClient _http;
    private readonly InfluxDBClient _client;
    private readonly WriteApiAsync _write;
    private readonly string _bucket;
    private readonly string _organisation;

    /// <param name="configuration">Where to.</param>
    /// <param name="time">For Retry-After dates.</param>
    /// <param name="transport">What sends requests; null: sockets.</param>
    public InfluxWriter(InfluxConfiguration configuration, TimeProvider time, HttpMessageHandler? transport = null)
    {
        var native = configuration.Api == 1;
        HttpMessageHandler handler = transport ?? Sockets();
        if (native)
        {
            handler = new NativeWriteAddress(configuration) { InnerHandler = handler };
        }

        _body.InnerHandler = handler;
        _http = new HttpClient(new AnswerCheck(time) { InnerHandler = _body }) { Timeout = Timeout.InfiniteTimeSpan };
        var options = new InfluxDBClientOptions(configuration.Url.ToString()) { HttpClient = _http, Timeout = ClientLimit, AllowHttpRedirects = false };
        if (!native && configuration.Secret is { Length: > 0 } secret)
        {
            options.Token = configuration.User is { } user ? $"{user}:{secret}" : secret;
        }

        _client = new InfluxDBClient(options);
        _write = _client.GetWriteApiAsync();
        _bucket = !native && configuration.RetentionPolicy is { Length: > 0 } policy ? $"{configuration.Bucket}/{policy}" : configuration.Bucket;
        _organisation = configuration.Organisation is { Length: > 0 } organisation ? organisation : NoOrganisation;
    }

    /// <summary>Returns when the server has said 204.</summary>
    /// <param name="lines">Line protocol in UTF-8, nanoseconds; left alone until this returns. One request at a time.</param>
    /// <param name="cancellation">Ends the request; whether the server took it is then unknown.</param>
    /// <exception cref="InfluxWriteException">It was not accepted.</exception>
    /// <exception cref="OperationCanceledException">The token ended it.</exception>
    public async Task WriteAsync(ReadOnlyMemory<byte> lines, CancellationToken cancellation)
    {
        _body.Lines = lines;
        try
        {
            await _write.WriteRecordAsync(StandIn, WritePrecision.Ns, _bucket, _organisation, cancellation);
        }
        catch (HttpException e)
        {
            // The client wraps whatever the transport threw.
            cancellation.ThrowIfCancellationRequested();
            throw e.InnerException as InfluxWriteException
                ?? new InfluxWriteException(InfluxFailure.Unreachable, e.InnerException?.Message ?? e.Message, inner: e.InnerException ?? e);
        }
    }

    public void Dispose()
    {
        _client.Dispose();
        _http.Dispose();
    }

    private static SocketsHttpHandler Sockets() => new()
    {
        AllowAutoRedirect = false,
        UseCookies = false,
        UseProxy = false,
        ConnectTimeout = TimeSpan.FromSeconds(10),
        PooledConnectionLifetime = TimeSpan.FromMinutes(5),
    };

    /// <summary>Puts the lines where the client has put what stands in for them.</summary>
    private sealed class LinesBody : DelegatingHandler
    {
        public ReadOnlyMemory<byte> Lines { get; set; }

        protected override Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
        {
            request.Content = new ReadOnlyMemoryContent(Lines) { Headers = { ContentType = new MediaTypeHeaderValue("text/plain", "utf-8") } };
            return base.SendAsync(request, cancellationToken);
        }
    }
}
