using System.CommandLine;
using WashBridge.Commands;

namespace WashBridge.Tests.Commands;

public sealed class NumberRangeTests
{
    [Theory]
    [InlineData("demo --speed abc", "--speed: found 'abc'; allowed: a number from 0.1 to 60")]
    [InlineData("demo --speed NaN", "--speed: found 'NaN'; allowed: a number from 0.1 to 60")]
    [InlineData("demo --speed 1000", "--speed: found '1000'; allowed: a number from 0.1 to 60")]
    [InlineData("demo --speed 1,5", "--speed: found '1,5'; allowed: a number from 0.1 to 60")]
    [InlineData("demo --minutes soon", "--minutes: found 'soon'; allowed: a number from 0.1 to 1440")]
    [InlineData("demo --minutes -3", "--minutes: found '-3'; allowed: a number from 0.1 to 1440")]
    [InlineData("demo --minutes 1e300", "--minutes: found '1e300'; allowed: a number from 0.1 to 1440")]
    [InlineData("demo --history none", "--history: found 'none'; allowed: a number from 0 to 48")]
    [InlineData("demo --port http", "--port: found 'http'; allowed: a whole number from 0 to 65535")]
    [InlineData("browse opc.tcp://localhost --limit z", "--limit: found 'z'; allowed: a whole number from 1 to 200000")]
    [InlineData("browse opc.tcp://localhost --limit 0", "--limit: found '0'; allowed: a whole number from 1 to 200000")]
    [InlineData("browse opc.tcp://localhost --limit 3000000000", "--limit: found '3000000000'; allowed: a whole number from 1 to 200000")]
    [InlineData("bath titrate a.washdb caustic strong --by T", "strength: found 'strong'; allowed: a number")]
    [InlineData("inspect a.washdb K-1 passed --found clean --by T --value much", "--value: found 'much'; allowed: a number")]
    [InlineData("records correct a.washdb 0 strength 2 --by T --reason slip", "number: found '0'; allowed: a whole number from 1 on")]
    [InlineData("recipes show a.washdb standard 2.5 --site s.yaml", "number: found '2.5'; allowed: a whole number from 1 on")]
    [InlineData("tokens add a.washdb desk --role viewer --days ever", "--days: found 'ever'; allowed: a whole number from 1 to ")]
    public void What_is_no_number_or_out_of_range_is_told_with_what_is_allowed_and_nothing_is_done(string line, string told)
    {
        var root = new RootCommand
        {
            DemoCommand.Create(), BrowseCommand.Create(TimeProvider.System), BathCommand.Create(TimeProvider.System), InspectCommand.Create(TimeProvider.System), RecordsCommand.Create(TimeProvider.System),
            RecipesCommand.Create(TimeProvider.System), TokensCommand.Create(TimeProvider.System),
        };
        var (output, errors) = (new StringWriter(), new StringWriter());
        Assert.Equal(ExitCodes.ConfigurationErrors, root.Parse(line).Invoke(new InvocationConfiguration { Output = output, Error = errors }));
        Assert.StartsWith(told, errors.ToString(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--speed", "0.1")]
    [InlineData("--speed", "60")]
    [InlineData("--minutes", "1440")]
    [InlineData("--history", "0")]
    [InlineData("--port", "65535")]
    public void The_ends_of_the_range_are_allowed(params string[] arguments) => Assert.Empty(DemoCommand.Create().Parse(arguments).Errors);
}
