using WashBridge.Analysing;
using WashBridge.Configuration;
using WashBridge.Forwarding;
using WashBridge.Historian;
using WashBridge.Messaging;
using WashBridge.Pairing;

namespace WashBridge.Pipeline;

/// <summary>Whose the followers are that a historian knows: the program's own, the site file's, or nobody's any more.</summary>
internal static class SiteFollowers
{
    /// <summary>Gives each server of the site its place in the log before it has ever answered: what it has not got yet is kept from the first start on.</summary>
    public static void Enlist(Site site, IHistorian historian)
    {
        foreach (var follower in site.Influx.Select(InfluxFollower.NameOf).Where(f => historian.ReadFollower(f) is null))
        {
            historian.AppendEvents([], new FollowerState(follower, 0));
        }
    }

    /// <summary>They are there with any site file.</summary>
    public static bool IsOwn(string follower) =>
        follower is Analyst.Name or AnalysisFollower.Name or ClockKeeper.Name || follower.StartsWith(AnalysisFollower.RowOf(""), StringComparison.Ordinal);

    /// <summary>The key of the site file that has it; null: none.</summary>
    public static string? KeyOf(Site site, string follower) =>
        site.Influx.Any(i => InfluxFollower.NameOf(i) == follower) ? "influx"
        : site.Mqtt.Any(m => MqttFollower.NameOf(m) == follower) ? "mqtt"
        : site.Pair is not null && follower == PairMemory.Follower ? "pair"
        : null;

    /// <summary>Those that were taken out of the site file. Nothing moves them, and no sample after their places is dropped.</summary>
    public static IReadOnlyList<FollowerPlace> LeftOver(Site site, IHistorianReader historian) =>
        [.. historian.ReadFollowers().Where(f => !IsOwn(f.Follower) && KeyOf(site, f.Follower) is null)];
}
