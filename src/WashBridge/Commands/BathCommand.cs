using System.CommandLine;
using WashBridge.Orders;

namespace WashBridge.Commands;

/// <summary>Records a titration, or that a bath was made up anew.</summary>
internal static class BathCommand
{
    private const string Caution = "CAUTION: caustic, acids and sanitisers burn. Take samples and change baths by the site's procedure, the label and the safety data sheet.";

    public static Command Create(TimeProvider time) => new("bath", "Records what was done to a bath: titrate (its strength was measured) or change (it was made up anew).") { Titrate(time), Change(time) };

    private static Command Titrate(TimeProvider time)
    {
        var options = new OrderOptions();
        var bath = Bath();
        var strength = new Argument<double>("strength") { Description = "What was found." }.Within(double.MinValue, double.MaxValue);
        var unit = new Option<string>("--unit") { Description = $"{string.Join(", ", Telling.Strengths.Select(s => s.Unit))}.", DefaultValueFactory = _ => "%" };
        var method = new Option<string?>("--method") { Description = "How it was measured, in one line." };
        var reason = new Option<string?>("--reason") { Description = "Why it was measured." };
        var at = At("When the sample was taken");
        var command = new Command("titrate", $"""
            Records the strength of a bath as titrated.

            Example: washbridge bath titrate plant.washdb caustic 2.1 --unit % --method "acid to the second end point" --washer north --by "T. Ester"
            {Caution}
            """) { options.Store, bath, strength, unit, method, reason, at };
        options.AddTo(command);
        command.SetAction(async (parsed, cancellation) =>
        {
            if (options.Delivery(parsed, parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error) is not { } delivery)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var told = new ToldTitration(
                parsed.GetValue(options.Washer), parsed.GetValue(bath), parsed.GetValue(strength), parsed.GetValue(unit), parsed.GetValue(options.By), parsed.GetValue(method), parsed.GetValue(reason),
                parsed.GetValue(at));
            return await delivery.BringAsync(Endpoints.Titrations, told, (historian, now) => Telling.Titration(told, Telling.WashersOf(historian), now, Teller.Command), time, cancellation);
        });
        return command;
    }

    private static Command Change(TimeProvider time)
    {
        var options = new OrderOptions();
        var bath = Bath();
        var reason = new Option<string?>("--reason") { Description = "Why it was changed." };
        var at = At("When it was changed");
        var command = new Command("change", $"""
            Records that a bath was emptied and made up anew. Its forecast begins anew.

            Example: washbridge bath change plant.washdb caustic --washer north --by "T. Ester" --reason "titrated below 1.5 %"
            {Caution}
            """) { options.Store, bath, reason, at };
        options.AddTo(command);
        command.SetAction(async (parsed, cancellation) =>
        {
            if (options.Delivery(parsed, parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error) is not { } delivery)
            {
                return ExitCodes.ConfigurationErrors;
            }

            var told = new ToldBathChange(parsed.GetValue(options.Washer), parsed.GetValue(bath), parsed.GetValue(options.By), parsed.GetValue(reason), parsed.GetValue(at));
            return await delivery.BringAsync(Endpoints.BathChanges, told, (historian, now) => Telling.BathChange(told, Telling.WashersOf(historian), now, Teller.Command), time, cancellation);
        });
        return command;
    }

    private static Argument<string> Bath()
    {
        var bath = new Argument<string>("bath") { Description = $"{string.Join(", ", Telling.Baths)}." };
        bath.AcceptOnlyFromAmong([.. Telling.Baths]);
        return bath;
    }

    private static Option<string?> At(string what) => new("--at") { Description = $"{what}, ISO 8601 with a zone; without it: now." };
}
