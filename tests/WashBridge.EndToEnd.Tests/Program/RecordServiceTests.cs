using System.Net;
using System.Net.Http.Json;
using WashBridge.Core;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Historian;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.EndToEnd.Tests.Program;

/// <summary>A keg from its scan to its release, titrations, inspections and corrections, told to the running service; and the chain checked beside it.</summary>
public sealed class RecordServiceTests
{
    private static CancellationToken Deadline => new CancellationTokenSource(TimeSpan.FromMinutes(2)).Token;

    [Fact]
    public async Task What_people_tell_the_running_service_is_chained_and_can_be_checked_beside_it()
    {
        await using var demo = await ServedDemo.StartAsync(Deadline);

        async Task<HttpStatusCode> Tell(string path, object told)
        {
            using var answer = await demo.Client.PostAsJsonAsync(path, told, Deadline);
            return answer.StatusCode;
        }

        Assert.Equal(HttpStatusCode.Created, await Tell("/scans", new { washer = "yard", station = 2, keg = "K-0042" }));
        Assert.Equal(HttpStatusCode.Conflict, await Tell("/keg-decisions", new { keg = "K-0042", decision = "release", by = "T. Ester", reason = "too early" }));
        var judged = await JudgedAsync(demo.Store, "K-0042");
        Assert.Equal(HttpStatusCode.BadRequest, await Tell("/keg-decisions", new { keg = "K-0042", decision = "hold", by = "T. Ester" }));
        Assert.Equal(HttpStatusCode.Created, await Tell("/keg-decisions", new { keg = "K-0042", decision = "hold", by = "T. Ester", reason = "to be looked at", verdict = judged.Id }));
        Assert.Equal(HttpStatusCode.Created, await Tell("/inspections", new { keg = "K-0042", kind = "spear-pull", result = "passed", found = "clean", by = "T. Ester" }));
        Assert.Equal(HttpStatusCode.Created, await Tell("/titrations", new { washer = "yard", bath = "caustic", strength = 2.1, by = "T. Ester" }));
        Assert.Equal(HttpStatusCode.Created, await Tell("/corrections", new { number = 4, field = "strength", value = "1.2", by = "T. Ester", reason = "slip of the pen" }));
        Assert.Equal(HttpStatusCode.Created, await Tell("/bath-changes", new { washer = "yard", bath = "caustic", by = "T. Ester", reason = "titrated low" }));
        Assert.Equal(HttpStatusCode.BadRequest, await Tell("/draws", new { lot = "early", by = "T. Ester" }));

        await using var release = ProgramProcess.Start("keg", demo.Store, "K-0042", "release", "--by", "T. Ester", "--reason", "clean inside", "--site", demo.SiteFile);
        Assert.Equal(0, (await release.EndAsync(Deadline)).Exit);

        using var reader = HistorianFile.OpenReader(demo.Store);
        Assert.Equal(
            ["keg-scanned", "keg-decided", "keg-inspected", "titration-recorded", "record-corrected", "bath-changed", "keg-decided"],
            reader.ReadRecords(0, 100).Select(r => WashJson.KindOf(r.Event)));
        Assert.Equal(KegStanding.Released, KegFile.Of("K-0042", reader.ReadKeg("K-0042")).Standing);

        await using var verify = ProgramProcess.Start("verify", demo.Store, "--head", $"{reader.RecordHead}");
        var checkedBeside = await verify.EndAsync(Deadline);
        Assert.Equal(0, checkedBeside.Exit);
        Assert.Contains("record 7 is the one whose hash was written down", checkedBeside.Output, StringComparison.Ordinal);
    }

    private static async Task<KegJudged> JudgedAsync(string store, string keg)
    {
        var deadline = Deadline;
        using var reader = HistorianFile.OpenReader(store);
        using var look = new PeriodicTimer(TimeSpan.FromMilliseconds(200));
        while (await look.WaitForNextTickAsync(deadline))
        {
            if (reader.ReadEvents(new EventQuery { KegId = keg, Kinds = ["keg-judged"] }).OfType<KegJudged>().FirstOrDefault() is { } judged)
            {
                return judged;
            }
        }

        throw new InvalidOperationException($"{keg} was not judged in time");
    }
}
