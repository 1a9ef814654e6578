using System.Net;

namespace WashBridge.Forwarding;

/// <summary>Why a write was not accepted, as far as it decides what to do next.</summary>
internal enum InfluxFailure
{
    /// <summary>No connection, or it broke.</summary>
    Unreachable = 0,

    /// <summary>No answer within the time allowed.</summary>
    TimedOut = 1,

    /// <summary>The server asks for patience: 429, 503.</summary>
    Busy = 2,

    /// <summary>Other 5xx. A 1.x server answers 500 for an unknown retention policy.</summary>
    ServerError = 3,

    /// <summary>401, 403: user, password or token are wrong.</summary>
    Unauthorised = 4,

    /// <summary>404: database, bucket, organisation or address are wrong.</summary>
    NotFound = 5,

    /// <summary>An answer no InfluxDB server gives to a write, such as a page or a redirect: something else listens at the address.</summary>
    Unexpected = 6,

    /// <summary>400, 413, 422: these lines, and they will not get better.</summary>
    Lines = 7,

    /// <summary>Lines could not be set aside: the file cannot be written.</summary>
    SetAside = 8,
}

internal static class InfluxFailures
{
    /// <summary>It will not pass by itself: somebody has to change the configuration, at this end or the other.</summary>
    public static bool NeedsAction(this InfluxFailure failure) =>
        failure is InfluxFailure.Unauthorised or InfluxFailure.NotFound or InfluxFailure.ServerError or InfluxFailure.Unexpected or InfluxFailure.SetAside;
}

/// <summary>A write that was not accepted. Anything but 204 is none.</summary>
/// <param name="failure">What kind.</param>
/// <param name="reason">For people: the server's own words where it gave some.</param>
/// <param name="status">Null when there was no answer.</param>
/// <param name="retryAfter">How long the server asks to be left alone.</param>
/// <param name="inner">The original cause.</param>
internal sealed class InfluxWriteException(InfluxFailure failure, string reason, HttpStatusCode? status = null, TimeSpan? retryAfter = null, Exception? inner = null)
    : Exception(reason, inner)
{
    public InfluxFailure Failure => failure;

    public HttpStatusCode? Status => status;

    public TimeSpan? RetryAfter => retryAfter;
}
