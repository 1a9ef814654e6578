using System.Net;
using System.Text.RegularExpressions;

namespace WashBridge.Tests.Web.Kegs;

/// <summary>A form of a page, as a browser would send it.</summary>
internal sealed partial class PageForm
{
    private readonly Dictionary<string, string> _fields = [];

    /// <param name="page">The page's HTML.</param>
    /// <param name="handler">The form's name.</param>
    public PageForm(string page, string handler)
    {
        var form = Forms().Matches(page).Select(m => m.Value).First(f => f.Contains($"name=\"_handler\" value=\"{handler}\"", StringComparison.Ordinal));
        foreach (Match input in Inputs().Matches(form))
        {
            _fields[input.Groups[1].Value] = WebUtility.HtmlDecode(Value().Match(input.Value).Groups[1].Value);
        }

        foreach (Match area in Areas().Matches(form))
        {
            _fields[area.Groups[1].Value] = WebUtility.HtmlDecode(area.Groups[2].Value);
        }
    }

    public string this[string field]
    {
        get => _fields[field];
        set => _fields[field] = value;
    }

    public Task<HttpResponseMessage> SendAsync(HttpClient client, string address) => client.PostAsync(address, new FormUrlEncodedContent(_fields), WebTrial.Cancellation);

    [GeneratedRegex("<form.*?</form>", RegexOptions.Singleline)]
    private static partial Regex Forms();

    [GeneratedRegex("<input[^>]*? name=\"([^\"]*)\"[^>]*>")]
    private static partial Regex Inputs();

    [GeneratedRegex("value=\"([^\"]*)\"")]
    private static partial Regex Value();

    [GeneratedRegex("<textarea[^>]*name=\"([^\"]*)\"[^>]*>(.*?)</textarea>", RegexOptions.Singleline)]
    private static partial Regex Areas();
}
