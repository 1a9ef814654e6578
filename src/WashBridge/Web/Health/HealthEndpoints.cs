using System.Text.Json;
using Microsoft.AspNetCore.Diagnostics.HealthChecks;
using Microsoft.Extensions.Diagnostics.HealthChecks;
using WashBridge.Configuration;
using WashBridge.Pipeline;
using WashBridge.Web.Accounts;

namespace WashBridge.Web.Health;

/// <summary>
/// Whether the service lives, for whoever restarts it, and whether it does its work, for whoever watches it. A washer that is switched off or a follower that is behind
/// is no reason to restart anything: that is <c>Degraded</c>, and answered with 200.
/// </summary>
internal static class HealthEndpoints
{
    public const string Path = "/health";
    public const string Live = Path + "/live";
    public const string Ready = Path + "/ready";

    public static void Add(IServiceCollection services, Site site)
    {
        var checks = services.AddHealthChecks()
            .AddCheck<HistorianCheck>("historian")
            .AddCheck<FollowersCheck>("followers");
        if (site.Pair is not null)
        {
            checks.AddCheck<PairCheck>("pair");
        }

        foreach (var washer in site.Washers.Select(w => w.Model.Washer))
        {
            checks.Add(new HealthCheckRegistration($"washer/{washer}", provider => new WasherCheck(provider.GetRequiredService<Bridge>(), washer), HealthStatus.Degraded, tags: null));
        }
    }

    public static void Map(IEndpointRouteBuilder routes)
    {
        var isGet = new HttpMethodMetadata([HttpMethods.Get, HttpMethods.Head]);

        // The process answers: that is all that anybody may know, and all that a restart can mend.
        routes.MapHealthChecks(Live, new HealthCheckOptions { Predicate = _ => false }).AllowAnonymous().WithMetadata(isGet);
        routes.MapHealthChecks(Ready, new HealthCheckOptions { ResponseWriter = WriteAsync }).RequireAuthorization(Policies.View).WithMetadata(isGet);
    }

    private static Task WriteAsync(HttpContext context, HealthReport report)
    {
        context.Response.ContentType = "application/json";
        return context.Response.WriteAsync(JsonSerializer.Serialize(
            new HealthAnswer($"{report.Status}", [.. report.Entries.Select(e => new HealthPart(e.Key, $"{e.Value.Status}", e.Value.Description ?? ""))]), JsonSerializerOptions.Web));
    }

    private sealed record HealthAnswer(string Status, IReadOnlyList<HealthPart> Checks);

    private sealed record HealthPart(string Name, string Status, string Description);
}
