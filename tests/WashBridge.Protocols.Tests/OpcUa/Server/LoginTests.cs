using WashBridge.Protocols.OpcUa;
using WashBridge.Protocols.OpcUa.Security;
using WashBridge.Protocols.OpcUa.Server;

namespace WashBridge.Protocols.Tests.OpcUa.Server;

/// <summary>Guessing of passwords is slow, and stopped.</summary>
public sealed class LoginTests : IDisposable
{
    private const string Here = "192.0.2.1";

    private static readonly UaServerLimits Limits = new() { MaxLoginFailures = 3, LoginLockout = TimeSpan.FromMinutes(1), LoginDelay = TimeSpan.FromMilliseconds(500) };

    private readonly SecuredFixture server = new(Limits);

    public void Dispose() => server.Dispose();

    [Fact]
    public async Task Each_failure_is_answered_later_than_the_one_before()
    {
        foreach (var delay in new[] { 500, 1000, 2000, 4000, 8000, 8000 })
        {
            var login = LogInAsync("anna", "wrong");
            server.Services.Advance(delay - 1);
            Assert.False(login.IsCompleted);
            server.Services.Advance(1);
            Assert.Equal(StatusCodes.BadUserAccessDenied, (await Assert.ThrowsAsync<UaException>(() => login)).Status);
        }
    }

    [Fact]
    public async Task After_too_many_failures_the_right_password_is_refused_as_a_wrong_one_for_a_while()
    {
        for (var i = 0; i < 3; i++)
        {
            await FailAsync("anna", "wrong");
        }

        var asked = server.Users.Asked;
        await FailAsync("anna", "sesame");
        Assert.Equal(asked, server.Users.Asked);
        server.Services.Advance(60_000);
        await FailAsync("anna", "wrong");
        await LogInAsync("anna", "sesame");
    }

    [Fact]
    public async Task Nobody_is_locked_out_from_elsewhere()
    {
        for (var i = 0; i < 4; i++)
        {
            await FailAsync("anna", "wrong");
        }

        await LogInAsync("anna", "sesame", address: "192.0.2.2");
    }

    [Fact]
    public async Task A_success_begins_the_count_anew()
    {
        for (var round = 0; round < 3; round++)
        {
            await FailAsync("anna", "wrong");
            await FailAsync("anna", "wrong");
            await LogInAsync("anna", "sesame");
        }
    }

    [Fact]
    public void An_address_is_locked_out_whatever_names_it_tries()
    {
        var guard = new LoginGuard(Limits, server.Services.Time);
        for (var i = 0; i < 12; i++)
        {
            Assert.False(guard.IsLockedOut(Here, $"user{i}"));
            guard.Failed(Here, $"user{i}");
        }

        Assert.True(guard.IsLockedOut(Here, "another"));
        Assert.False(guard.IsLockedOut("192.0.2.2", "another"));
        server.Services.Advance(60_000);
        Assert.False(guard.IsLockedOut(Here, "another"));
    }

    [Fact]
    public void The_memory_of_failures_is_bounded_and_forgets_the_oldest()
    {
        var guard = new LoginGuard(Limits, server.Services.Time);
        for (var i = 0; i < 12_000; i++)
        {
            guard.Failed($"198.51.100.{i}", "anna");
            server.Services.Advance(1);
        }

        Assert.InRange(guard.Count, 9_000, 10_000);
    }

    private async Task FailAsync(string user, string password)
    {
        var login = LogInAsync(user, password);
        server.Services.Advance(8000);
        Assert.Equal(StatusCodes.BadUserAccessDenied, (await Assert.ThrowsAsync<UaException>(() => login)).Status);
    }

    private async Task LogInAsync(string user, string password, string address = Here)
    {
        var connection = server.Open(SecurityPolicy.None, address: address);
        var created = server.Create(connection);
        await server.ActivateAsync(connection, created.AuthenticationToken, created.ServerNonce!, server.Password(SecurityPolicy.Basic256Sha256, user, password, created.ServerNonce!));
    }
}
