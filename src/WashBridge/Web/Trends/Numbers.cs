using System.Globalization;
using WashBridge.Orders;

namespace WashBridge.Web.Trends;

/// <summary>Numbers of a form's field.</summary>
internal static class Numbers
{
    /// <summary>With a decimal point or a decimal comma.</summary>
    /// <returns>Null: nothing was entered.</returns>
    /// <exception cref="TellingException">It is no number.</exception>
    public static double? Read(string field, string? text)
    {
        if (string.IsNullOrWhiteSpace(text))
        {
            return null;
        }

        var written = text.Trim();
        var plain = written.Count(c => c is ',' or '.') == 1 ? written.Replace(',', '.') : written;
        return double.TryParse(plain, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var number) && double.IsFinite(number)
            ? number
            : throw new TellingException($"{field}: found '{(written.Length > 20 ? written[..20] + "..." : written)}'; allowed: a number such as 2.1");
    }
}
