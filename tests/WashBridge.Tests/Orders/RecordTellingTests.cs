using WashBridge.Core.Records;
using WashBridge.Core.Time;
using WashBridge.Core.Upkeep;
using WashBridge.Orders;

namespace WashBridge.Tests.Orders;

/// <summary>Titrations, changes of baths, corrections, and the desk at which they are entered.</summary>
public sealed class RecordTellingTests : IDisposable
{
    private static readonly ToldTitration Titration = new("north", "caustic", 2.1, "%", "T. Ester", "acid to the second end point");

    private readonly RecordStore _store = new();

    public void Dispose() => _store.Dispose();

    [Fact]
    public void A_titration_is_of_the_time_of_its_sample_and_says_when_it_was_entered()
    {
        var made = Assert.IsType<TitrationRecorded>(_store.Told(Titration with { At = "2031-03-05T08:00:00+01:00" }));
        Assert.Equal(("north", "caustic", 2.1, "%", "acid to the second end point"), (made.Washer, made.Bath, made.Strength, made.Unit, made.Method));
        Assert.Equal((Instant.Parse("2031-03-05T07:00:00Z"), Instant.Parse("2031-03-05T08:00:01Z")), (made.At.Latest, made.Act.Entered));
    }

    [Theory]
    [InlineData("yeast", 2.1, "%", "bath: found 'yeast'; allowed: caustic, acid, sanitiser")]
    [InlineData("acid", 101.0, "%", "strength: found 101 %; allowed: 0 to 100 %")]
    [InlineData("acid", -0.1, "g/L", "strength: found -0.1 g/L; allowed: 0 to 1500 g/L")]
    [InlineData("acid", double.NaN, "%", "strength: found NaN %; allowed: 0 to 100 %")]
    [InlineData("acid", null, "%", "strength: found nothing; allowed: 0 to 100 %")]
    [InlineData("acid", 1.0, "drops", "unit: found 'drops'; allowed: %, g/L, mg/L, mol/L")]
    public void A_titration_that_cannot_be_taken_says_why(string bath, double? strength, string unit, string message) =>
        Assert.StartsWith(message, Assert.Throws<TellingException>(() => _store.Told(Titration with { Bath = bath, Strength = strength, Unit = unit })).Message, StringComparison.Ordinal);

    [Fact]
    public void A_change_of_a_bath_is_work_on_it_for_the_forecasts()
    {
        var made = Telling.BathChange(new ToldBathChange("yard", "acid", "T. Ester", "titrated low"), RecordStore.Washers, _store.Now, Teller.Command);
        Assert.Equal(("yard", "acid", Means.Command), (made.Washer, made.Bath, made.Act.Means));
        var work = made.AsMaintenance();
        Assert.Equal(("yard", made.Id, "bath/acid", MaintenanceKind.Replaced, "T. Ester", "titrated low"), (work.Washer, work.Id, work.Component.Key, work.Work, work.By, work.Note));
    }

    [Theory]
    [InlineData(Role.Viewer, true)]
    [InlineData(Role.Operator, false)]
    public void A_viewer_tells_nothing(Role role, bool refused)
    {
        var teller = new Teller(Means.Page, "V. Iewer", role);
        foreach (var tell in new Action[]
        {
            () => _store.Told(Titration, teller),
            () => Telling.BathChange(new ToldBathChange("north", "acid"), RecordStore.Washers, _store.Now, teller),
            () => Telling.Maintenance(new ToldMaintenance("north", "heater", "inspected", null), RecordStore.Washers, _store.Now, teller),
        })
        {
            Assert.Equal(refused, Record.Exception(tell) is TellingException { IsForbidden: true });
        }
    }

    [Fact]
    public void A_correction_keeps_the_old_value_and_the_record()
    {
        _store.Told(Titration);
        var made = Assert.IsType<RecordCorrected>(_store.Told(new ToldCorrection(1, "strength", "1.2", "T. Ester", "slip of the pen")));
        Assert.Equal((1L, "titration-recorded", "strength", "2.1", "1.2", "north"), (made.Number, made.Of, made.Field, made.OldValue, made.NewValue, made.Washer));
        var again = Assert.IsType<RecordCorrected>(_store.Told(new ToldCorrection(1, "strength", "1.3", "T. Ester", "read again")));
        Assert.Equal("1.2", again.OldValue);
        Assert.Equal(2.1, Assert.IsType<TitrationRecorded>(_store.Historian.ReadRecords(0, 1)[0].Event).Strength);
        Assert.Equal("\"a \\\"b\\\" ü\"", Assert.IsType<RecordCorrected>(_store.Told(new ToldCorrection(1, "method", "a \"b\" ü", "T. Ester", "x"))).NewValue);
    }

    [Fact]
    public void A_corrected_keg_id_is_found_under_both()
    {
        _store.Washed("K-1").Washed("K-2", cycle: 2).Told(new ToldInspection("K-1", "swab", "failed", "film", "T. Ester"));
        var made = Assert.IsType<RecordCorrected>(_store.Told(new ToldCorrection(1, "kegId", "K-2", "T. Ester", "read wrongly")));
        Assert.Equal(["K-1", "K-2"], made.KegIds);
        Assert.Equal((false, true), (Telling.File(_store.Historian, "K-1").LastWash!.FailedInspection, Telling.File(_store.Historian, "K-2").LastWash!.FailedInspection));
    }

    [Theory]
    [InlineData(9, "strength", "1", "x", "number: found 9; allowed: 1 to 2")]
    [InlineData(null, "strength", "1", "x", "number: found nothing; allowed: 1 to 2")]
    [InlineData(2, "decision", "Release", "x", "number: record 2 is of the kind keg-decided, of which nothing can be corrected; allowed:")]
    [InlineData(1, "act", "x", "x", "field: found 'act'; allowed: bath, strength, unit, method")]
    [InlineData(1, "strength", "strong", "x", "value: found 'strong'; allowed: a number")]
    [InlineData(1, "strength", null, "x", "value: found nothing; strength cannot be without a value")]
    [InlineData(1, "bath", "yeast", "x", "value: found 'yeast'; allowed: caustic, acid, sanitiser")]
    [InlineData(1, "strength", "2.1", "x", "value: found 2.1, which strength of record 1 says already")]
    [InlineData(1, "strength", "1", " ", "reason: found nothing; a correction needs its reason")]
    public void A_correction_that_cannot_be_taken_says_why(int? number, string field, string? value, string reason, string message)
    {
        _store.Told(Titration);
        _store.Told(new ToldDecision("K-1", "hold", "T. Ester", "dented"));
        Assert.StartsWith(message, Assert.Throws<TellingException>(() => _store.Told(new ToldCorrection(number, field, value, "T. Ester", reason))).Message, StringComparison.Ordinal);
        Assert.Equal(2, _store.Historian.RecordHead!.Number);
    }

    [Fact]
    public void What_somebody_else_recorded_is_for_QA_to_correct()
    {
        _store.Told(Titration, new Teller(Means.Page, "O. Ne", Role.Operator));
        Assert.True(Assert.Throws<TellingException>(() => _store.Told(new ToldCorrection(1, "strength", "1", Reason: "x"), new Teller(Means.Page, "T. Wo", Role.Operator))).IsForbidden);
        _store.Told(new ToldCorrection(1, "strength", "1", Reason: "x"), new Teller(Means.Page, "O. Ne", Role.Operator));
        _store.Told(new ToldCorrection(1, "strength", "3", Reason: "x"), new Teller(Means.Page, "Q. Ass", Role.Qa));
    }

    /// <summary>The historian skips an id that it has: a second record of the same moment must not get lost, and the same told again must not become two.</summary>
    [Fact]
    public void Two_of_the_same_moment_are_two_records_and_the_same_told_twice_is_one()
    {
        var at = "2031-03-05T07:00:00Z";
        var first = _store.Told(Titration with { At = at });
        var second = _store.Told(Titration with { At = at, Strength = 2.2 });
        Assert.Equal($"{first.Id}/2", second.Id);
        Assert.Equal(first.Id, _store.Told(Titration with { At = at }).Id);
        Assert.Equal(second.Id, _store.Told(Titration with { At = at, Strength = 2.2 }).Id);
        Assert.Equal(2, _store.Historian.RecordHead!.Number);
        Assert.Equal([2.1, 2.2], _store.Historian.ReadRecords(0, 10).Select(r => ((TitrationRecorded)r.Event).Strength));
    }
}
