using WashBridge.Configuration;

namespace WashBridge.Web;

/// <summary>What tells a browser to trust nothing but this server's own files (Content Security Policy Level 3, W3C).</summary>
internal sealed class SecurityHeaders(HttpConfiguration http)
{
    private const string Policy =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; form-action 'self'; base-uri 'self'; frame-ancestors 'none'";

    /// <summary>One year, after RFC 6797, 6.1.1.</summary>
    private const string OnlyByTls = "max-age=31536000";

    /// <summary>At the last moment, because an error's answer begins with clean headers.</summary>
    public Task AddAsync(HttpContext context, Func<Task> next)
    {
        context.Response.OnStarting(Add, context.Response);
        return next();
    }

    private Task Add(object state)
    {
        var headers = ((HttpResponse)state).Headers;
        headers.ContentSecurityPolicy = Policy;
        headers.XContentTypeOptions = "nosniff";
        headers.XFrameOptions = "DENY";
        headers["Referrer-Policy"] = "same-origin";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        headers["Cross-Origin-Resource-Policy"] = "same-origin";
        headers["Permissions-Policy"] = "camera=(self), geolocation=(), microphone=()";
        if (headers.CacheControl.Count == 0)
        {
            headers.CacheControl = "no-store";
        }

        if (http.IsSecure)
        {
            headers.StrictTransportSecurity = OnlyByTls;
        }

        return Task.CompletedTask;
    }
}
