using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Security.Cryptography.X509Certificates;
using System.Text.Json;
using WashBridge.Configuration;

namespace WashBridge.Pairing;

/// <summary>The other bridge, asked where its pages are. It is only ever asked: nothing is sent to it that it would keep.</summary>
internal sealed class HttpPartner : IPartner, IDisposable
{
    private const int LongestAnswer = 256 << 20;

    private readonly HttpClient _client;
    private readonly TimeProvider _time;
    private readonly TimeSpan _patience;

    public HttpPartner(PairConfiguration pair, TimeProvider time)
    {
        _time = time;
        _patience = pair.TakeOverAfter / 2;
        var handler = new SocketsHttpHandler { AllowAutoRedirect = false, UseProxy = false, UseCookies = false, ConnectTimeout = _patience };
        if (pair.Authorities.Count > 0)
        {
            handler.SslOptions.CertificateChainPolicy = Policy(pair.Authorities);
        }

        _client = new HttpClient(handler) { BaseAddress = pair.Partner, Timeout = Timeout.InfiniteTimeSpan, MaxResponseContentBufferSize = LongestAnswer };
        _client.DefaultRequestHeaders.Authorization = string.IsNullOrEmpty(pair.Secret) ? null : new AuthenticationHeaderValue("Bearer", pair.Secret);
    }

    public async Task<PairAnswer> AskAsync(long after, int atMost, TimeSpan wait, CancellationToken cancellation)
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        patience.CancelAfter(_patience + wait);
        var sent = _time.GetUtcNow();
        try
        {
            var address = string.Create(CultureInfo.InvariantCulture, $"{PairEndpoint.Address}?after={after}&most={atMost}&wait={(int)wait.TotalMilliseconds}");
            using var answer = await _client.GetAsync(address, HttpCompletionOption.ResponseContentRead, patience.Token);
            var received = _time.GetUtcNow();
            if (answer.StatusCode != HttpStatusCode.OK)
            {
                throw new PartnerException(Meaning(answer.StatusCode));
            }

            return new PairAnswer(PairPage.Read(await answer.Content.ReadAsByteArrayAsync(patience.Token)), sent, received);
        }
        catch (OperationCanceledException late) when (!cancellation.IsCancellationRequested)
        {
            throw new PartnerException($"no answer within {(_patience + wait).TotalSeconds:0.#} s", late);
        }
        catch (Exception failure) when (failure is HttpRequestException or IOException)
        {
            throw new PartnerException(failure.InnerException is { } inner ? $"{failure.Message} {inner.Message}" : failure.Message, failure);
        }
        catch (JsonException strange)
        {
            throw new PartnerException($"its answer is not understood; are both of the same version? {strange.Message}", strange);
        }
    }

    public void Dispose() => _client.Dispose();

    private static string Meaning(HttpStatusCode status) => status switch
    {
        HttpStatusCode.Unauthorized => "it asks for a login; give pair.secret a token of the partner's: washbridge tokens add",
        HttpStatusCode.NotFound => "it answers, but is not one of a pair: its site file needs pair too",
        _ => $"it answered {(int)status}",
    };

    private static X509ChainPolicy Policy(IReadOnlyList<X509Certificate2> authorities)
    {
        var policy = new X509ChainPolicy { TrustMode = X509ChainTrustMode.CustomRootTrust, RevocationMode = X509RevocationMode.NoCheck };
        policy.CustomTrustStore.AddRange(authorities.ToArray());
        return policy;
    }
}
