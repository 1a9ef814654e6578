using System.Net;
using System.Security.Claims;
using WashBridge.Core.Records;
using WashBridge.Web.Accounts;

namespace WashBridge.Tests.Web;

public sealed class OpenAccessTests
{
    [Fact]
    public async Task On_loopback_without_login_everybody_at_the_machine_sees_the_pages()
    {
        await using var trial = await WebTrial.StartAsync();
        using var client = trial.Client();
        using var answer = await client.GetAsync("/", WebTrial.Cancellation);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
    }

    [Theory]
    [InlineData(Role.Viewer, Policies.View, true)]
    [InlineData(Role.Viewer, Policies.Operate, false)]
    [InlineData(Role.Operator, Policies.Operate, true)]
    [InlineData(Role.Operator, Policies.Judge, false)]
    [InlineData(Role.Qa, Policies.Judge, true)]
    [InlineData(Role.Qa, Policies.Administer, false)]
    [InlineData(Role.Administrator, Policies.Administer, true)]
    public void Each_role_may_do_all_that_those_before_it_may(Role role, string policy, bool allowed) =>
        Assert.Equal(allowed, CurrentUser.Of(Identities.Make(Schemes.Session, "K. Wash", role)).May(Policies.Least[policy]));

    [Fact]
    public void Who_is_nobody_may_nothing()
    {
        var nobody = CurrentUser.Of(new ClaimsPrincipal(new ClaimsIdentity()));
        Assert.False(nobody.May(Role.Viewer));
        Assert.False(nobody.IsLoggedIn);
    }

    [Fact]
    public void A_role_that_there_is_not_is_none() =>
        Assert.True(CurrentUser.Of(new ClaimsPrincipal(new ClaimsIdentity([new Claim(ClaimTypes.Role, "17")], Schemes.Session))).IsStranger);
}
