using WashBridge.Certificates;
using WashBridge.Configuration.Binding;

namespace WashBridge.Tests.Certificates;

public sealed class AdviceTests
{
    [Fact]
    public void The_command_that_trusts_gets_the_site_file() =>
        Assert.Equal("trust it with: washbridge certificates trust config/site.yaml 4F2A91C0", Advice.For("trust it with: washbridge certificates trust 4F2A91C0", "config/site.yaml"));

    /// <summary>The words of CertificateValidator, IdentityChecks and RevocationChecks.</summary>
    [Theory]
    [InlineData("or allow 'expired' for this peer.", "expired")]
    [InlineData("or allow 'other host' for this peer.", "other-host")]
    [InlineData("or allow 'other usage' for it.", "other-usage")]
    [InlineData("or allow 'unknown revocation' for this peer.", "unknown-revocation")]
    public void A_fault_that_can_be_let_pass_names_the_key_that_does_it(string message, string key)
    {
        Assert.Equal($"or write allow: [{key}] in the washer's connection to let it pass knowingly.", Advice.For(message, "site.yaml"));
        Assert.Contains(key, OpcUaConnectionBinder.AllowedExceptions);
    }
}
