using WashBridge.Analysis.Alarms;
using static WashBridge.Core.Alarms.AlarmState;

namespace WashBridge.Analysis.Tests.Alarms;

/// <summary>The diagram of IEC 62682:2014 and ANSI/ISA-18.2-2016, from memory; its states are those of OPC 10000-9, 4.8.</summary>
public sealed class AlarmLifeCycleTests
{
    /// <summary>
    /// Each state with each input, in the order of <see cref="AlarmInput"/>: arises, ends, rises, acknowledge, shelve, unshelve, suppress, end of suppression, take
    /// out of service, return to service. N normal, U unacknowledged, A acknowledged, R returned unacknowledged, S shelved, D suppressed by design, O out of
    /// service; a dash: nothing changes; B: back to U where the condition holds, else to N; NO: to N and on to O.
    /// </summary>
    private static readonly (Core.Alarms.AlarmState State, string Row)[] Table =
    [
        (Normal, "U - - - S - D - O -"),
        (Unacknowledged, "- R - A S - D - O -"),
        (Acknowledged, "- N U - S - D - O -"),
        (ReturnedUnacknowledged, "U - - N S - D - O -"),
        (Shelved, "- - - - S B - - NO -"),
        (SuppressedByDesign, "- - - - - - - B NO -"),
        (OutOfService, "- - - - - - - - - B"),
    ];

    public static TheoryData<Core.Alarms.AlarmState, AlarmInput, bool, bool, string> Pairs()
    {
        var data = new TheoryData<Core.Alarms.AlarmState, AlarmInput, bool, bool, string>();
        foreach (var (state, row) in Table)
        {
            var cells = row.Split(' ');
            foreach (var input in Enum.GetValues<AlarmInput>())
            {
                foreach (var (holds, isSuppressed) in new[] { (false, false), (true, false), (false, true), (true, true) })
                {
                    // Whoever comes back while there is a reason to suppress it is suppressed, by way of normal; unless it is the suppression that ended.
                    var back = !holds ? "N" : isSuppressed && state != SuppressedByDesign ? "ND" : "U";
                    data.Add(state, input, holds, isSuppressed, cells[(int)input].Replace("B", back, StringComparison.Ordinal));
                }
            }
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Every_input_leads_where_the_standard_draws_it(Core.Alarms.AlarmState state, AlarmInput input, bool holds, bool isSuppressed, string path) =>
        Assert.Equal(path.Replace("-", "", StringComparison.Ordinal), string.Concat(AlarmLifeCycle.Path(state, input, holds, isSuppressed).Select(Letter)));

    [Fact]
    public void The_table_has_every_state() => Assert.Equal(Enum.GetValues<Core.Alarms.AlarmState>(), Table.Select(t => t.State));

    internal static char Letter(Core.Alarms.AlarmState state) => state switch
    {
        Normal => 'N',
        Unacknowledged => 'U',
        Acknowledged => 'A',
        ReturnedUnacknowledged => 'R',
        Shelved => 'S',
        SuppressedByDesign => 'D',
        _ => 'O',
    };
}
