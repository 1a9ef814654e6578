using System.CommandLine;
using WashBridge.Checking;
using WashBridge.Configuration;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Pairing;
using WashBridge.Pipeline;
using WashBridge.Reporting;
using WashBridge.Web.Live;

namespace WashBridge.Commands;

/// <summary>Who follows the log of a site, and how one is forgotten that was taken out of the site file.</summary>
internal static class FollowersCommand
{
    public static Command Create(TimeProvider time) => new("followers", """
        Who follows the log: InfluxDB servers, MQTT brokers, the analysis and others, each with its place (list). One that is gone for good is forgotten (forget).

        Samples that a follower has not read are kept, however old they get: so a server that was away misses nothing. A follower that was taken out of the site file keeps its place, too,
        in case it comes back. Nothing moves that place, and so keep-samples drops nothing after it until the follower is forgotten.
        """)
    {
        List(time), Forget(time),
    };

    private static Command List(TimeProvider time)
    {
        var (siteFile, zone) = (SiteArgument(), new ZoneOption());
        var command = new Command("list", """
            Lists followers with their places in the log, what came after them, and whether the site file has them. The service may run meanwhile.

            Example: washbridge followers list config/site.yaml
            Exit codes: 0 listed; 1 the command line or the configuration is wrong; 3 the historian cannot be read.
            """) { siteFile, zone.Name };
        command.SetAction(parsed =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            if (zone.Zone(parsed, errors) is not { } read || SiteFile.Load(parsed.GetValue(siteFile)!, errors) is not { } site)
            {
                return ExitCodes.ConfigurationErrors;
            }

            if (!IsThere(site, errors))
            {
                return ExitCodes.StoreErrors;
            }

            using var historian = Historian.Historian.OpenReader(site.Store.Path);
            Print(site, parsed.GetValue(siteFile)!, historian, Instant.Floor(time.GetUtcNow()), read, output);
            return ExitCodes.Success;
        });
        return command;
    }

    private static Command Forget(TimeProvider time)
    {
        var (siteFile, zone) = (SiteArgument(), new ZoneOption());
        var name = new Argument<string>("follower") { Description = "Its name, as `followers list` shows it." };
        var yes = new Option<bool>("--yes") { Description = "Do it. Left out: what it means is told, and nothing is changed." };
        var command = new Command("forget", """
            Forgets a follower that the site file has no more. What it had not read will not be sent to it, and keep-samples may drop it.

            Stop the service first, because it has the store. Run this as the user that the service runs as.

            Examples:
              washbridge followers forget config/site.yaml influx/old
              washbridge followers forget config/site.yaml influx/old --yes
            Exit codes: 0 it is forgotten; 1 it is not, because of the command line, the configuration, or because --yes is missing; 3 the historian cannot be opened.
            """) { siteFile, name, yes, zone.Name };
        command.SetAction(parsed =>
        {
            var (output, errors) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
            var (file, follower) = (parsed.GetValue(siteFile)!, parsed.GetValue(name)!);
            if (zone.Zone(parsed, errors) is not { } read || SiteFile.Load(file, errors) is not { } site)
            {
                return ExitCodes.ConfigurationErrors;
            }

            if (!IsThere(site, errors))
            {
                return ExitCodes.StoreErrors;
            }

            using (var historian = Historian.Historian.OpenReader(site.Store.Path))
            {
                if (Find(site, historian, follower, errors) is not { } place)
                {
                    return ExitCodes.ConfigurationErrors;
                }

                if (!parsed.GetValue(yes))
                {
                    Explain(site, historian, place, read, errors);
                    errors.WriteLine($"Nothing was changed. To forget it: washbridge followers forget {file} {follower} --yes");
                    return ExitCodes.ConfigurationErrors;
                }
            }

            return Forget(site, follower, time, output, errors);
        });
        return command;
    }

    private static Argument<FileInfo> SiteArgument() => new("site") { Description = "The site's file." };

    private static bool IsThere(Site site, TextWriter errors)
    {
        if (File.Exists(site.Store.Path))
        {
            return true;
        }

        errors.WriteLine($"{site.Store.Path}: no such file. The service makes it when it starts: has it ever run?");
        return false;
    }

    private static void Print(Site site, FileInfo siteFile, IHistorianReader historian, Instant now, TimeZoneInfo zone, TextWriter output)
    {
        var followers = historian.ReadFollowers();
        if (followers.Count == 0)
        {
            output.WriteLine("Nobody follows the log yet.");
            return;
        }

        var table = new TextTable("follower", "place", "entries after it", "oldest of these", "place saved", "in site file") { Unbroken = ["follower", "place", "place saved"] };
        foreach (var each in followers)
        {
            var lag = LogLag.Of(historian, each.Sequence, LogContent.All);
            table.Add(
                each.Follower, $"{each.Sequence:N0}", $"{lag.Entries:N0}", lag.Oldest is { } oldest ? $"{RecordWords.Time(oldest, zone)}, {Spell.Of(now - oldest)} ago" : "", RecordWords.Time(each.Saved, zone),
                SiteFollowers.IsOwn(each.Follower) ? "built in" : SiteFollowers.KeyOf(site, each.Follower) is null ? "NO" : "yes");
        }

        table.Write(output, Terminal.Of(output));
        output.WriteLine();
        output.WriteLine($"The log ends at entry {historian.LastSequence:N0}. Places are as they were last saved: followers that run may be further, and the analysis saves its places as rarely as once a day.");
        foreach (var left in SiteFollowers.LeftOver(site, historian))
        {
            output.WriteLine(site.Store.Retention is { } kept
                ? $"{left.Follower} is not in the site file: nothing moves its place, and keep-samples ({kept.TotalDays:0.##} days) drops no sample after it. If it is gone for good: washbridge followers forget {siteFile} {left.Follower}"
                : $"{left.Follower} is not in the site file: nothing moves its place. It holds nothing back, because without keep-samples no sample is dropped.");
        }
    }

    /// <summary>Null after printing why it may not be forgotten.</summary>
    private static FollowerPlace? Find(Site site, IHistorianReader historian, string follower, TextWriter errors)
    {
        if (SiteFollowers.IsOwn(follower))
        {
            errors.WriteLine($"{follower} is the program's own: without its place the whole log would be gone through again, and it holds nothing back for long while the service runs.");
            return null;
        }

        if (SiteFollowers.KeyOf(site, follower) is { } key)
        {
            errors.WriteLine($"{follower} is in the site file: take it out there, under {key}, and start the service again first.");
            return null;
        }

        var left = SiteFollowers.LeftOver(site, historian);
        var found = left.FirstOrDefault(f => f.Follower == follower);
        if (found is null)
        {
            errors.WriteLine($"follower: found '{follower}'; allowed: {(left.Count > 0 ? string.Join(", ", left.Select(f => f.Follower)) : "none, for all that follow the log are the program's own or in the site file")}");
        }

        return found;
    }

    private static void Explain(Site site, IHistorianReader historian, FollowerPlace place, TimeZoneInfo zone, TextWriter errors)
    {
        var lag = LogLag.Of(historian, place.Sequence, LogContent.All);
        var after = lag.Oldest is { } oldest ? $"{Entries(lag.Entries)} came after it, the oldest at {RecordWords.Time(oldest, zone)}." : "Nothing came after it.";
        errors.WriteLine($"{place.Follower} stands at entry {place.Sequence:N0} of {historian.LastSequence:N0}. {after}");
        errors.WriteLine("If it is forgotten:");
        errors.WriteLine(place.Follower == PairMemory.Follower
            ? "- This store counts as one that never was of a pair: commands write to it themselves again."
            : "- What it had not read will not be sent to it.");
        errors.WriteLine(site.Store.Retention is { } kept
            ? $"- Samples older than keep-samples ({kept.TotalDays:0.##} days) that are kept only for it are dropped for good. Cycles, verdicts and all other events stay."
            : "- Nothing is dropped: without keep-samples all samples are kept.");
        if (place.Follower.Split('/')[0] is var kind && kind is "influx" or "mqtt")
        {
            errors.WriteLine($"- If it comes into the site file again, it {(kind == "influx" ? "is sent the whole log from its beginning" : "begins with the present and is told no past")}.");
        }
    }

    private static int Forget(Site site, string follower, TimeProvider time, TextWriter output, TextWriter errors)
    {
        try
        {
            using var historian = Historian.Historian.Open(site.Store.Path, new HistorianOptions(), time);
            var stood = historian.ReadFollower(follower)?.Sequence ?? 0;
            historian.RemoveFollower(follower);
            output.WriteLine($"Forgotten: {follower}, which stood at entry {stood:N0} of {historian.LastSequence:N0}.");
            return ExitCodes.Success;
        }
        catch (HistorianException inUse) when (inUse.Fault == HistorianFault.InUse)
        {
            errors.WriteLine($"{site.Store.Path}: the service, or another command, has it open and may still move the follower. Stop it, forget the follower, and start it again.");
            return ExitCodes.StoreErrors;
        }
    }

    private static string Entries(long count) => count == 1 ? "1 entry" : $"{count:N0} entries";
}
