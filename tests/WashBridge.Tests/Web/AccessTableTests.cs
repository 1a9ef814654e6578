using System.Net;
using System.Text;
using Microsoft.AspNetCore.Routing;
using Microsoft.AspNetCore.Routing.Patterns;
using WashBridge.Core.Records;

namespace WashBridge.Tests.Web;

/// <summary>
/// Who may use which address, found by asking each in every role over HTTP. <c>access.txt</c> is what was decided: an address that is not in it fails here until
/// somebody has decided. Set WASHBRIDGE_WRITE_EXPECTED=1 to write what is found; read the difference before keeping it.
/// </summary>
public sealed class AccessTableTests
{
    private static readonly string Table = Path.Combine(Repository.Root, "tests/WashBridge.Tests/Web/access.txt");

    [Fact]
    public async Task Every_address_is_for_those_whom_it_was_decided_for()
    {
        await using var trial = await WebTrial.StartWithLoginAsync();
        using var stranger = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false }) { BaseAddress = trial.Address };
        var roles = Enum.GetValues<Role>().Select(r => (Name: r.ToString(), Client: trial.Program(r, $"program {r}"))).ToList();
        var lines = new SortedSet<string>(StringComparer.Ordinal);
        foreach (var endpoint in trial.Endpoints)
        {
            // Of files only one stands for all: which there are changes with every style sheet.
            if (endpoint.RoutePattern.RawText is { } text && (text.StartsWith("_content/", StringComparison.Ordinal) || text == "{**path:file}" || Path.GetExtension(text) is ".css" or ".js" or ".gz"))
            {
                continue;
            }

            foreach (var method in endpoint.Metadata.GetMetadata<HttpMethodMetadata>()?.HttpMethods ?? ["GET"])
            {
                var allowed = new List<string>();
                foreach (var (name, client) in roles.Prepend(("anybody", stranger)))
                {
                    if (await IsAllowedAsync(client, method, Address(endpoint.RoutePattern)))
                    {
                        allowed.Add(name);
                    }
                }

                // Each role may do all that those before it may.
                string[] all = ["anybody", .. roles.Select(r => r.Name)];
                Assert.Equal(all.SkipWhile(r => !allowed.Contains(r)), allowed);
                lines.Add($"{method} {endpoint.RoutePattern.RawText}: {allowed.FirstOrDefault("nobody")}");
            }
        }

        roles.ForEach(r => r.Client.Dispose());
        Assert.True(lines.Count > 40, $"only {lines.Count} addresses were found");
        if (Environment.GetEnvironmentVariable("WASHBRIDGE_WRITE_EXPECTED") == "1")
        {
            await File.WriteAllLinesAsync(Table, lines, WebTrial.Cancellation);
        }

        Assert.Equal(await File.ReadAllLinesAsync(Table, WebTrial.Cancellation), lines);
    }

    private static async Task<bool> IsAllowedAsync(HttpClient client, string method, string address)
    {
        using var request = new HttpRequestMessage(new HttpMethod(method), address);
        if (method is not ("GET" or "HEAD"))
        {
            request.Content = new StringContent("{}", Encoding.UTF8, "application/json");
        }

        using var answer = await client.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, WebTrial.Cancellation);
        var isSentToLogin = answer.StatusCode == HttpStatusCode.Redirect && answer.Headers.Location!.OriginalString.StartsWith("/login?", StringComparison.Ordinal);
        Assert.NotEqual(HttpStatusCode.InternalServerError, answer.StatusCode);
        return !isSentToLogin && answer.StatusCode is not (HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden);
    }

    /// <summary>An address of this pattern; what it names there is not.</summary>
    private static string Address(RoutePattern pattern) => "/" + string.Join('/', pattern.PathSegments.Select(s => string.Concat(s.Parts.Select(p => p switch
    {
        RoutePatternLiteralPart literal => literal.Content,
        RoutePatternParameterPart parameter => parameter.ParameterPolicies.Any(x => x.Content == "int") ? "404" : "x",
        RoutePatternSeparatorPart separator => separator.Content,
        _ => "",
    }))));
}
