using WashBridge.Web.Accounts;

namespace WashBridge.Tests.Web.Accounts;

public sealed class PasswordRulesTests
{
    private static readonly PasswordRules Rules = new(PasswordRules.StandardLeast, ["harbour-brewery", "Harbour Brewery"]);

    [Theory]
    [InlineData("otter lamp gravel nine")]
    [InlineData("vexqjmtrkzow")]
    [InlineData("T9#kw!Lq2$xR")]
    [InlineData("zwölf Boxkämpfer jagen")]
    [InlineData("ключ от старой двери")]
    [InlineData("my keg is full of old boots")]
    public void A_long_password_of_any_characters_is_taken(string password) => Assert.Null(Rules.Problem(password, "K. Wash"));

    [Theory]
    [InlineData("short words", "found 11 characters")]
    [InlineData("aaaaaaaaaaaaaaaa", "different characters")]
    [InlineData("abababababab", "different characters")]
    [InlineData("abcdefghijklmnop", "guessed first")]
    [InlineData("1234567890123", "guessed first")]
    [InlineData("qwertyuiop12", "guessed first")]
    [InlineData("password1234", "guessed first")]
    [InlineData("Password2031!", "guessed first")]
    [InlineData("administrator1", "guessed first")]
    [InlineData("WashBridge-2031", "guessed first")]
    [InlineData("harbour-brewery1", "guessed first")]
    [InlineData("charlottewash", "guessed first")]
    [InlineData("abcabcabcabcxyz", "guessed first")]
    [InlineData("line one\nline two", "control character")]
    public void What_is_guessed_first_is_refused_with_the_reason(string password, string reason)
    {
        var problem = Rules.Problem(password, "Charlotte Wash");
        Assert.Contains(reason, problem, StringComparison.Ordinal);
        Assert.DoesNotContain(password, problem, StringComparison.Ordinal);
    }

    [Fact]
    public void Characters_are_counted_as_people_count_them_and_bytes_are_bounded()
    {
        Assert.Contains("found 11 characters", Rules.Problem("😀😁😂😃😄😅😆😇😈😉😊", "x"), StringComparison.Ordinal);
        Assert.Contains("bytes", Rules.Problem(string.Concat(Enumerable.Repeat("otter lamp gravel ", 60)), "x"), StringComparison.Ordinal);
        Assert.Contains("at least 20", new PasswordRules(20, []).Problem("otter lamp gravel", "x"), StringComparison.Ordinal);
    }

    [Fact]
    public void A_lock_out_grows_with_every_failure_to_an_hour_and_at_a_hundred_only_an_administrator_ends_it()
    {
        Assert.Equal(TimeSpan.Zero, Lockouts.AfterAccountFailures(4));
        Assert.Equal([1, 2, 4, 8, 16, 32, 60, 60], Enumerable.Range(5, 8).Select(f => (int)Lockouts.AfterAccountFailures(f).TotalMinutes));
        Assert.Equal(TimeSpan.FromHours(1), Lockouts.AfterAccountFailures(99));
        Assert.True(Lockouts.AfterAccountFailures(100) > TimeSpan.FromDays(10_000));
        Assert.Equal(TimeSpan.Zero, Lockouts.AfterAddressFailures(19));
        Assert.Equal(TimeSpan.FromMinutes(1), Lockouts.AfterAddressFailures(20));
    }

    [Theory]
    [InlineData("/", true)]
    [InlineData("/kegs?id=K-1&x=/y", true)]
    [InlineData("//evil", false)]
    [InlineData("/\\evil", false)]
    [InlineData("https://evil", false)]
    [InlineData("kegs", false)]
    [InlineData("", false)]
    [InlineData(null, false)]
    [InlineData("/a\r\nSet-Cookie: x", false)]
    public void Only_pages_of_this_server_are_gone_to(string? address, bool isLocal) => Assert.Equal(isLocal, LocalAddress.IsLocal(address));
}
