using System.Reflection;
using System.Text.Json.Serialization;
using WashBridge.Core.Cycles;
using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Historian;
using WashBridge.Web.Pages.Records;
using HistorianFile = WashBridge.Historian.Historian;

namespace WashBridge.Tests.Web;

public sealed class RecordListTests : IDisposable
{
    private static readonly Instant Begin = Instant.Floor(new DateTimeOffset(2031, 3, 5, 6, 0, 0, TimeSpan.Zero));

    private readonly TemporaryFolder _folder = new();
    private readonly HistorianFile _historian;

    public RecordListTests() => _historian = HistorianFile.Open(_folder["x.washdb"], new HistorianOptions(), TimeProvider.System);

    public void Dispose()
    {
        _historian.Dispose();
        _folder.Dispose();
    }

    [Fact]
    public void Pages_follow_each_other_from_the_newest_back_without_gap_or_overlap()
    {
        _historian.AppendEvents([.. Enumerable.Range(1, 730).Select(n => Bath(n, n % 7 == 0 ? "Ines" : "Tom"))]);

        var seen = new List<long>();
        long? below = null;
        do
        {
            var page = RecordList.Read(_historian, null, null, below);
            seen.AddRange(page.Entries.Select(e => e.Number));
            below = page.Older;
        }
        while (below is not null);

        Assert.Equal(Enumerable.Range(1, 730).Reverse().Select(n => (long)n), seen);
    }

    [Fact]
    public void A_search_finds_what_lies_far_back_by_kind_and_by_part_of_a_name()
    {
        _historian.AppendEvents([Titration(1, "Ines Moor"), .. Enumerable.Range(2, 1200).Select(n => Bath(n, "Tom"))]);

        Assert.Equal([1L], RecordList.Read(_historian, "titration-recorded", null, null).Entries.Select(e => e.Number));
        Assert.Equal([1L], RecordList.Read(_historian, null, "moor", null).Entries.Select(e => e.Number));
        Assert.Empty(RecordList.Read(_historian, "titration-recorded", "tom", null).Entries);
    }

    [Fact]
    public void A_correction_stands_beside_what_it_corrects()
    {
        _historian.AppendEvents([Titration(1, "Ines")]);
        _historian.AppendEvents([new RecordCorrected { Id = "c", Washer = "w", At = TimeBounds.At(Begin), Act = new Act { By = "Ines" }, Number = 1, Of = "titration-recorded", Field = "strength", OldValue = "2", NewValue = "2.2" }]);

        var list = RecordList.Read(_historian, null, null, null);

        Assert.Equal("2.2", ((RecordCorrected)Assert.Single(list.Corrections[1]).Event).NewValue);
        Assert.Empty(list.Corrections[2]);
    }

    [Fact]
    public void Every_kind_of_record_can_be_chosen_on_the_page()
    {
        var kinds = typeof(WashEvent).GetCustomAttributes<JsonDerivedTypeAttribute>().Where(a => a.DerivedType.IsAssignableTo(typeof(IRecord))).Select(a => (string)a.TypeDiscriminator!);

        Assert.Equal(kinds.Order(), RecordsPage.Kinds.Order());
    }

    private static BathChanged Bath(int n, string by) => new() { Id = $"b{n}", Washer = "w", At = TimeBounds.At(Begin + TimeSpan.FromMinutes(n)), Act = new Act { By = by }, Bath = "acid" };

    private static TitrationRecorded Titration(int n, string by) =>
        new() { Id = $"t{n}", Washer = "w", At = TimeBounds.At(Begin + TimeSpan.FromMinutes(n)), Act = new Act { By = by }, Bath = "acid", Strength = 2, Unit = "%" };
}
