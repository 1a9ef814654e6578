using System.CommandLine;
using WashBridge.Commands;
using WashBridge.Configuration;

namespace WashBridge.Tests.Certificates;

public sealed class PasswordHashCommandTests
{
    [Fact]
    public void What_is_printed_can_be_put_into_the_site_file()
    {
        var (code, output) = Run("open sesame\n");
        Assert.Equal(ExitCodes.Success, code);
        var match = System.Text.RegularExpressions.Regex.Match(output, "^password-hash: \"([^\"]+)\"\n$");
        Assert.True(PasswordHash.Parse(match.Groups[1].Value)!.Fits("open sesame"));
        Assert.DoesNotContain("sesame", output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("")]
    [InlineData("\n")]
    public void No_password_is_refused(string input) => Assert.Equal((ExitCodes.ConfigurationErrors, "password: found nothing; allowed: one line that is not empty\n"), Run(input));

    [Fact]
    public void A_password_that_is_too_long_is_refused() => Assert.Equal((ExitCodes.ConfigurationErrors, "password: found 1001 bytes; allowed: up to 1000\n"), Run(new string('x', 1001)));

    private static (int Code, string Output) Run(string input)
    {
        var writer = new StringWriter { NewLine = "\n" };
        var code = PasswordHashCommand.Create(new StringReader(input)).Parse([]).Invoke(new InvocationConfiguration { Output = writer, Error = writer });
        return (code, writer.ToString());
    }
}
