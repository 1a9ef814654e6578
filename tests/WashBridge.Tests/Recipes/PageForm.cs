using System.Net;
using System.Text.RegularExpressions;
using WashBridge.Tests.Web;

namespace WashBridge.Tests.Recipes;

/// <summary>Fills a form of a page as a browser would: with what the page put into it, and what is typed.</summary>
internal static partial class PageForm
{
    /// <param name="address">Of the page.</param>
    /// <param name="name">The form's name.</param>
    /// <param name="typed">What is typed over what stands in the fields.</param>
    public static async Task<(HttpStatusCode Status, string? Location, string Body)> SendAsync(HttpClient client, string address, string name, params (string Field, string Value)[] typed)
    {
        var page = await client.GetStringAsync(address, WebTrial.Cancellation);
        var form = Forms().Matches(page).Select(m => m.Value).Single(f => f.Contains($"name=\"_handler\" value=\"{name}\"", StringComparison.Ordinal));
        var fields = Inputs().Matches(form).Select(m => m.Value)
            .Where(input => Attribute(input, "name") is not null)
            .ToDictionary(input => Attribute(input, "name")!, input => Attribute(input, "value") ?? "", StringComparer.Ordinal);
        foreach (Match area in Areas().Matches(form))
        {
            fields[Attribute(area.Groups[1].Value, "name")!] = WebUtility.HtmlDecode(area.Groups[2].Value);
        }

        foreach (var (field, value) in typed)
        {
            fields[field] = value;
        }

        using var content = new FormUrlEncodedContent(fields);
        using var answer = await client.PostAsync(address, content, WebTrial.Cancellation);
        return (answer.StatusCode, answer.Headers.Location?.ToString(), WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation)));
    }

    private static string? Attribute(string tag, string name) => Regex.Match(tag, $" {name}=\"([^\"]*)\"") is { Success: true } match ? WebUtility.HtmlDecode(match.Groups[1].Value) : null;

    [GeneratedRegex("<form.*?</form>", RegexOptions.Singleline)]
    private static partial Regex Forms();

    [GeneratedRegex("<input[^>]*>", RegexOptions.Singleline)]
    private static partial Regex Inputs();

    [GeneratedRegex("<textarea([^>]*)>(.*?)</textarea>", RegexOptions.Singleline)]
    private static partial Regex Areas();
}
