using System.CommandLine;
using WashBridge.Orders;

namespace WashBridge.Commands;

/// <summary>Records what was found in a keg.</summary>
internal static class InspectCommand
{
    public static Command Create(TimeProvider time)
    {
        var options = new OrderOptions();
        var keg = new Argument<string>("keg") { Description = "The keg's id." };
        var result = new Argument<string>("result") { Description = "passed or failed." };
        result.AcceptOnlyFromAmong([.. Telling.Results]);
        var found = new Option<string>("--found") { Description = "What was found, in one line.", Required = true };
        var kind = new Option<string>("--kind") { Description = "spear-pull or swab.", DefaultValueFactory = _ => "spear-pull" };
        kind.AcceptOnlyFromAmong([.. Telling.Inspections]);
        var value = new Option<double?>("--value") { Description = "What was measured; needs --unit." }.Within(double.MinValue, double.MaxValue);
        var unit = new Option<string?>("--unit") { Description = "Unit of --value, such as {RLU}." };
        var lot = new Option<string?>("--lot") { Description = "The lot for which the keg was drawn." };
        var note = new Option<string?>("--reason") { Description = "Why it was looked at." };
        var at = new Option<string?>("--at") { Description = "When, ISO 8601 with a zone; without it: now." };
        var command = new Command("inspect", """
            Records what was found in a keg: its spear pulled, or a swab.

            Example: washbridge inspect plant.washdb K-0042 passed --found "clean and dry" --lot "early shift" --by "T. Ester"
            CAUTION: a keg is a pressure vessel. Vent it before it is opened, by the site's procedure and by trained people only; it may hold CO2, caustic or acid.
            """) { options.Store, keg, result, found, kind, value, unit, lot, note, at };
        options.AddTo(command, withWasher: false);
        command.SetAction(async (parsed, cancellation) =>
        {
            if (options.Delivery(parsed, parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error) is not { } delivery)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var told = new ToldInspection(
                parsed.GetValue(keg), parsed.GetValue(kind), parsed.GetValue(result), parsed.GetValue(found), parsed.GetValue(options.By), parsed.GetValue(value), parsed.GetValue(unit),
                parsed.GetValue(lot), parsed.GetValue(note), parsed.GetValue(at));
            return await delivery.BringAsync(Endpoints.Inspections, told, (historian, now) => Telling.Inspection(told, historian, now, Teller.Command), time, cancellation);
        });
        return command;
    }
}
