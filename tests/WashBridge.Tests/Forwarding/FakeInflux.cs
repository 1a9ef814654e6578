using System.Net;
using System.Threading.Channels;

namespace WashBridge.Tests.Forwarding;

/// <summary>A server that answers as told, and takes down what it was sent.</summary>
internal sealed class FakeInflux : HttpMessageHandler
{
    private readonly Channel<Request> _requests = Channel.CreateUnbounded<Request>();
    private int _inFlight;

    /// <summary>How to answer; 204 by default.</summary>
    public Func<Request, CancellationToken, Task<HttpResponseMessage>> Answer { get; set; } = (_, _) => Task.FromResult(NoContent());

    /// <summary>Lines that were answered with 204, in order.</summary>
    public List<string> Accepted { get; } = [];

    public List<Request> All { get; } = [];

    public int MostInFlight { get; private set; }

    public static HttpResponseMessage NoContent() => new(HttpStatusCode.NoContent);

    public static HttpResponseMessage Say(HttpStatusCode status, string body = "", params (string Name, string Value)[] headers)
    {
        var response = new HttpResponseMessage(status) { Content = new StringContent(body) };
        foreach (var (name, value) in headers)
        {
            response.Headers.TryAddWithoutValidation(name, value);
        }

        return response;
    }

    /// <summary>Answers with each of these in turn, then with 204.</summary>
    public void AnswerWith(params Func<HttpResponseMessage>[] answers)
    {
        var rest = new Queue<Func<HttpResponseMessage>>(answers);
        Answer = (_, _) => Task.FromResult(rest.TryDequeue(out var answer) ? answer() : NoContent());
    }

    /// <summary>Stores the lines that hold no <paramref name="poison"/>, and complains of the others as a 1.x server does.</summary>
    public void Refuse(string poison, HttpStatusCode status = HttpStatusCode.BadRequest)
    {
        Answer = (request, _) =>
        {
            var bad = request.Lines.Where(l => l.Contains(poison, StringComparison.Ordinal)).ToList();
            if (bad.Count == 0)
            {
                return Task.FromResult(NoContent());
            }

            Accepted.AddRange(request.Lines.Except(bad));
            var error = $$"""{"error":"partial write: field type conflict: input field \"f\" dropped={{bad.Count}}"}""";
            return Task.FromResult(Say(status, error));
        };
    }

    public ValueTask<Request> NextAsync() => _requests.Reader.ReadAsync(TestContext.Current.CancellationToken);

    /// <summary>Nothing more will come.</summary>
    public void End(Exception cause) => _requests.Writer.TryComplete(cause);

    protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
    {
        MostInFlight = Math.Max(MostInFlight, Interlocked.Increment(ref _inFlight));
        try
        {
            var body = await request.Content!.ReadAsStringAsync(cancellationToken);
            var taken = new Request(request.Method, request.RequestUri!, request.Headers.Authorization?.ToString(), body.Split('\n'));
            All.Add(taken);
            var response = await Answer(taken, cancellationToken);
            if (response.StatusCode == HttpStatusCode.NoContent)
            {
                Accepted.AddRange(taken.Lines);
            }

            _requests.Writer.TryWrite(taken);
            return response;
        }
        finally
        {
            Interlocked.Decrement(ref _inFlight);
        }
    }

    internal sealed record Request(HttpMethod Method, Uri Uri, string? Authorisation, IReadOnlyList<string> Lines);
}
