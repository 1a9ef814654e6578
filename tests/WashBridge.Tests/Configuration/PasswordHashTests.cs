using WashBridge.Configuration;

namespace WashBridge.Tests.Configuration;

public sealed class PasswordHashTests
{
    [Fact]
    public void A_hash_that_was_written_and_read_fits_its_password_and_no_other()
    {
        var hash = PasswordHash.Parse(PasswordHash.Of("pässword", PasswordHash.LeastIterations).ToString())!;
        Assert.True(hash.Fits("pässword"));
        Assert.False(hash.Fits("passwort"));
        Assert.False(hash.Fits(""));
    }

    [Fact]
    public void The_same_password_never_gives_the_same_hash_twice() =>
        Assert.NotEqual(PasswordHash.Of("x", PasswordHash.LeastIterations).ToString(), PasswordHash.Of("x", PasswordHash.LeastIterations).ToString());

    [Fact]
    public void A_password_that_is_far_too_long_costs_nothing() => Assert.False(PasswordHash.Of("x", PasswordHash.LeastIterations).Fits(new string('x', PasswordHash.MaxPasswordBytes + 1)));

    [Theory]
    [InlineData("")]
    [InlineData("secret")]
    [InlineData("pbkdf2-sha1:100000:AAECAwQFBgcICQoLDA0ODw==:N0rp+VwgWIz+mEQ6rqA7NhKcfPXD9iku6tpEMJSJeEI=")]
    [InlineData("pbkdf2-sha256:99999:AAECAwQFBgcICQoLDA0ODw==:N0rp+VwgWIz+mEQ6rqA7NhKcfPXD9iku6tpEMJSJeEI=")]
    [InlineData("pbkdf2-sha256:5000001:AAECAwQFBgcICQoLDA0ODw==:N0rp+VwgWIz+mEQ6rqA7NhKcfPXD9iku6tpEMJSJeEI=")]
    [InlineData("pbkdf2-sha256:100000:AAECAwQ=:N0rp+VwgWIz+mEQ6rqA7NhKcfPXD9iku6tpEMJSJeEI=")]
    [InlineData("pbkdf2-sha256:100000:AAECAwQFBgcICQoLDA0ODw==:N0rp+VwgWIz+mEQ6rqA7")]
    public void Other_texts_are_no_hash(string text) => Assert.Null(PasswordHash.Parse(text));
}
