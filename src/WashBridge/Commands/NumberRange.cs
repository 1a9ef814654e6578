using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using System.Numerics;

namespace WashBridge.Commands;

/// <summary>Numbers on the command line: what is none, or out of range, is told with what was found and what is allowed.</summary>
internal static class NumberRange
{
    public static Option<T> Within<T>(this Option<T> option, T least, T most)
        where T : struct, INumber<T>, IMinMaxValue<T>
    {
        option.CustomParser = result => Read(result, option.Name, least, most) ?? default;
        return option;
    }

    public static Option<T?> Within<T>(this Option<T?> option, T least, T most)
        where T : struct, INumber<T>, IMinMaxValue<T>
    {
        option.CustomParser = result => Read(result, option.Name, least, most);
        return option;
    }

    public static Argument<T> Within<T>(this Argument<T> argument, T least, T most)
        where T : struct, INumber<T>, IMinMaxValue<T>
    {
        argument.CustomParser = result => Read(result, argument.Name, least, most) ?? default;
        return argument;
    }

    private static T? Read<T>(ArgumentResult result, string name, T least, T most)
        where T : struct, INumber<T>, IMinMaxValue<T>
    {
        var text = result.Tokens[0].Value;
        if (T.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out var number) && number >= least && number <= most)
        {
            return number;
        }

        var kind = T.IsInteger(T.One / (T.One + T.One)) ? "a whole number" : "a number";
        var range = (least == T.MinValue, most == T.MaxValue) switch
        {
            (true, true) => "",
            (false, true) => string.Create(CultureInfo.InvariantCulture, $" from {least} on"),
            _ => string.Create(CultureInfo.InvariantCulture, $" from {least} to {most}"),
        };
        result.AddError($"{name}: found '{text}'; allowed: {kind}{range}");
        return null;
    }
}
