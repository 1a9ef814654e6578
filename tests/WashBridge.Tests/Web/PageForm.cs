using System.Net;
using System.Text.RegularExpressions;

namespace WashBridge.Tests.Web;

/// <summary>A form of a page as a browser would send it: with what the page has put into it, and what is typed over that. Boxes are not ticked.</summary>
internal sealed partial class PageForm
{
    private readonly Dictionary<string, string> _fields = [];

    /// <param name="page">The page's HTML.</param>
    /// <param name="name">The form's name. Of several the first is taken.</param>
    public PageForm(string page, string name)
    {
        var form = Forms().Matches(page).Select(m => m.Value).FirstOrDefault(f => f.Contains($"name=\"_handler\" value=\"{name}\"", StringComparison.Ordinal));
        Assert.True(form is not null, $"no form {name} in {page}");
        foreach (var input in Inputs().Matches(form).Select(m => m.Value).Where(i => Attribute(i, "name") is not null && Attribute(i, "type") is not ("checkbox" or "radio")))
        {
            _fields[Attribute(input, "name")!] = Attribute(input, "value") ?? "";
        }

        foreach (Match area in Areas().Matches(form))
        {
            _fields[Attribute(area.Groups[1].Value, "name")!] = WebUtility.HtmlDecode(area.Groups[2].Value);
        }
    }

    public IReadOnlyDictionary<string, string> Fields => _fields;

    public string this[string field]
    {
        get => _fields[field];
        set => _fields[field] = value;
    }

    public Task<HttpResponseMessage> SendAsync(HttpClient client, string address) => client.PostAsync(address, new FormUrlEncodedContent(_fields), WebTrial.Cancellation);

    /// <summary>Loads a page, types into its form of this name, sends it and reads the answer.</summary>
    public static async Task<(HttpStatusCode Status, string? Location, string Body)> SendAsync(Browser browser, string address, string name, params (string Field, string Value)[] typed)
    {
        using var answer = await browser.SendFormAsync(address, name, typed);
        return (answer.StatusCode, answer.Headers.Location?.ToString(), WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync(WebTrial.Cancellation)));
    }

    /// <summary>By which any form or script of this page shows that it comes from it.</summary>
    public static string Token(string page)
    {
        var input = Inputs().Matches(page).Select(m => m.Value).FirstOrDefault(i => Attribute(i, "name") == WashBridge.Web.WebSite.FormToken);
        Assert.True(input is not null, "the page has no form");
        return Attribute(input, "value")!;
    }

    private static string? Attribute(string tag, string name) => Regex.Match(tag, $" {name}=\"([^\"]*)\"") is { Success: true } match ? WebUtility.HtmlDecode(match.Groups[1].Value) : null;

    [GeneratedRegex("<form.*?</form>", RegexOptions.Singleline)]
    private static partial Regex Forms();

    [GeneratedRegex("<input[^>]*>", RegexOptions.Singleline)]
    private static partial Regex Inputs();

    [GeneratedRegex("<textarea([^>]*)>(.*?)</textarea>", RegexOptions.Singleline)]
    private static partial Regex Areas();
}
