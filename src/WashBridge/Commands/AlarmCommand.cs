using System.CommandLine;
using WashBridge.Analysing;
using WashBridge.Orders;

namespace WashBridge.Commands;

/// <summary>Orders about an alarm. They are kept with who gave them and why.</summary>
internal static class AlarmCommand
{
    public static Command Create(TimeProvider time)
    {
        var options = new OrderOptions();
        var alarm = new Argument<string>("alarm") { Description = "The alarm's key, as analyse lists it, such as drain-valve@2." };
        var order = new Argument<string>("order") { Description = "acknowledge, shelve (needs --reason and --until), unshelve, out-of-service (needs --reason), or return." };
        order.AcceptOnlyFromAmong([.. Telling.Orders]);
        var reason = new Option<string?>("--reason") { Description = "Why." };
        var until = new Option<string?>("--until") { Description = "End of shelving, ISO 8601 with a zone; at most 7 days from now." };
        var command = new Command("alarm", """
            Acknowledges an alarm, shelves it until a stated end, takes it out of service, or takes that back.

            Example: washbridge alarm plant.washdb drain-valve@2 shelve --washer north --by "T. Ester" --reason "part is ordered" --until 2031-03-07T06:00:00+01:00
            """) { options.Store, alarm, order, reason, until };
        options.AddTo(command);
        command.SetAction(async (parsed, cancellation) =>
        {
            if (options.Delivery(parsed, parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error) is not { } delivery)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var told = new ToldOrder(parsed.GetValue(options.Washer), parsed.GetValue(alarm), parsed.GetValue(order), parsed.GetValue(options.By), parsed.GetValue(reason), parsed.GetValue(until));
            return await delivery.BringAsync(
                Endpoints.AlarmOrders, told, (historian, now) => Telling.Order(told, Telling.WashersOf(historian), AlarmBoard.Read(historian), now, Teller.Command), time, cancellation);
        });
        return command;
    }
}
