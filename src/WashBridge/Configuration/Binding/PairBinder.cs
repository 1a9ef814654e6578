namespace WashBridge.Configuration.Binding;

/// <summary>Another bridge that reads the same washers.</summary>
internal static class PairBinder
{
    public static readonly TimeSpan ShortestTakeOver = TimeSpan.FromSeconds(2);
    public static readonly TimeSpan LongestTakeOver = TimeSpan.FromMinutes(5);

    private const string PartnerForm = "http:// or https://, a host and a port; nothing else";

    /// <param name="hasPages">The site file says where pages are: there the partner asks.</param>
    public static PairConfiguration? Bind(MapBinder? map, bool hasPages, SourceFiles sources)
    {
        if (map is null)
        {
            return null;
        }

        var standard = new PairConfiguration(Partner(map));
        var pair = standard with
        {
            IsFirst = map.Require("first", "true at one of the two, false at the other") is { } first && (Scalars.Flag(first, map.Problems) ?? false),
            Secret = SecretBinder.Bind(map.Find("secret"), sources),
            Authorities = AuthoritiesBinder.Bind(map, "the partner"),
            TakeOverAfter = map.Duration("take-over-after", ShortestTakeOver, LongestTakeOver, standard.TakeOverAfter),
        };
        map.Finish();
        Check(map, pair, hasPages, sources);
        return pair;
    }

    private static Uri Partner(MapBinder map)
    {
        var text = map.Text("partner", TextForms.Line);
        if (Uri.TryCreate(text, UriKind.Absolute, out var address) && address is { Scheme: "http" or "https", PathAndQuery: "/", Fragment.Length: 0, UserInfo.Length: 0 })
        {
            return address;
        }

        if (text.Length > 0)
        {
            map.Problems.Add(map.PlaceOf("partner"), "this is no address of a bridge", address is { UserInfo.Length: > 0 } ? "an address with a user (not shown)" : $"\"{text}\"", PartnerForm);
        }

        return new Uri("http://localhost");
    }

    private static void Check(MapBinder map, PairConfiguration pair, bool hasPages, SourceFiles sources)
    {
        if (!hasPages)
        {
            map.Problems.Add(map.Place, "the partner asks where the pages are, and this site has none", "no http", "http beside pair");
        }

        var isSecure = pair.Partner.Scheme == Uri.UriSchemeHttps;
        if (map.Node.Find("ca") is { } authorities && !isSecure)
        {
            map.Problems.Add(authorities.Value, "ca means nothing without TLS", "leave it out, or write https:// in partner");
        }

        if (!isSecure && !pair.Partner.IsLoopback)
        {
            sources.Warnings.Add(map.PlaceOf("partner"), "nothing protects this connection: whoever reaches the network can read along, the token too, and speak in the partner's name", $"{pair.Partner}", "https://");
        }
    }
}
