using System.CommandLine;
using WashBridge.Orders;

namespace WashBridge.Commands;

/// <summary>Records what was done to a component: forecasts begin anew from it, and the one that stood is held against it.</summary>
internal static class MaintainCommand
{
    public static Command Create(TimeProvider time)
    {
        var options = new OrderOptions();
        var component = new Argument<string>("component") { Description = "Such as drain-valve@2, dosing-tube/caustic, heater, bath/acid." };
        var work = new Argument<string>("work") { Description = "replaced (new), restored (cleaned or adjusted), or inspected (left as it was)." };
        work.AcceptOnlyFromAmong([.. Telling.Works]);
        var note = new Option<string?>("--note") { Description = "What was found or done, in one line." };
        var at = new Option<string?>("--at") { Description = "When it was done, ISO 8601 with a zone; without it: now." };
        var hadFailed = new Option<bool>("--had-failed") { Description = "The component had failed, so that its life ended." };
        var command = new Command("maintain", """
            Records work on a component. Its forecast begins anew, and the one that stood before is held against what happened.

            Example: washbridge maintain plant.washdb drain-valve@2 replaced --washer north --by "T. Ester" --note "seat worn"
            """) { options.Store, component, work, note, at, hadFailed };
        options.AddTo(command);
        command.SetAction(async (parsed, cancellation) =>
        {
            if (options.Delivery(parsed, parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error) is not { } delivery)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var told = new ToldMaintenance(
                parsed.GetValue(options.Washer), parsed.GetValue(component), parsed.GetValue(work), parsed.GetValue(options.By), parsed.GetValue(note), parsed.GetValue(at), parsed.GetValue(hadFailed));
            return await delivery.BringAsync(Endpoints.Maintenance, told, (historian, now) => Telling.Maintenance(told, Telling.WashersOf(historian), now, Teller.Command), time, cancellation);
        });
        return command;
    }
}
