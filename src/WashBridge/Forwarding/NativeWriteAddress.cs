using System.Net.Http.Headers;
using System.Text;
using WashBridge.Configuration;

namespace WashBridge.Forwarding;

/// <summary>
/// Sends the client's 2.x write requests to a 1.x server's own address, <c>/write?db=&amp;rp=&amp;precision=</c>, with basic authentication.
/// Such servers have no <c>/api/v2/write</c>, or (1.8) only an emulation of it.
/// </summary>
internal sealed class NativeWriteAddress : DelegatingHandler
{
    private readonly string _query;
    private readonly string _path;
    private readonly AuthenticationHeaderValue? _authorisation;

    public NativeWriteAddress(InfluxConfiguration configuration)
    {
        _path = configuration.Url.AbsolutePath.TrimEnd('/') + "/write";
        _query = "db=" + Uri.EscapeDataString(configuration.Bucket)
            + (configuration.RetentionPolicy is { Length: > 0 } policy ? "&rp=" + Uri.EscapeDataString(policy) : "")
            + "&precision=ns";
        _authorisation = configuration.User is { } user
            ? new AuthenticationHeaderValue("Basic", Convert.ToBase64String(Encoding.UTF8.GetBytes($"{user}:{configuration.Secret}")))
            : null;
    }

    protected override Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
    {
        request.RequestUri = new UriBuilder(request.RequestUri!) { Path = _path, Query = _query }.Uri;
        request.Headers.Authorization = _authorisation;
        return base.SendAsync(request, cancellationToken);
    }
}
