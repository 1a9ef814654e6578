using System.Net;
using System.Security.Cryptography;
using WashBridge.Configuration;

namespace WashBridge.Web.Accounts;

/// <summary>
/// Judges passwords. Whatever is wrong, the answer is the same and takes the same work: an unknown name, a wrong password, a disabled or locked out account cannot be
/// told apart from outside.
/// </summary>
internal sealed class Logins(AccountBook accounts, AddressGuard addresses, ILogger<Logins> logger) : IDisposable
{
    /// <summary>Stretching a password takes a core: so many at once, the others wait.</summary>
    private const int AtOnce = 2;

    private const int MostWaiting = 50;

    /// <summary>Nobody's; compared with where there is no account.</summary>
    private readonly Lazy<PasswordHash> _nobody = new(() => PasswordHash.Of(Convert.ToHexString(RandomNumberGenerator.GetBytes(16)), accounts.Iterations));

    private readonly SemaphoreSlim _turn = new(AtOnce);
    private int _waiting;

    /// <returns>The account, or null.</returns>
    public async Task<Account?> JudgeAsync(string name, string password, IPAddress? address, CancellationToken cancellation)
    {
        if (Interlocked.Increment(ref _waiting) > MostWaiting)
        {
            Interlocked.Decrement(ref _waiting);
            AccessLog.LoginRefused(logger, address, "too many at once");
            return null;
        }

        try
        {
            await _turn.WaitAsync(cancellation);
            try
            {
                // Not on the thread that serves the connection, and not ended halfway: a failure that is not counted is a free guess.
                return await Task.Run(() => Judge(name.Trim(), password, address), CancellationToken.None);
            }
            finally
            {
                _turn.Release();
            }
        }
        finally
        {
            Interlocked.Decrement(ref _waiting);
        }
    }

    public void Dispose() => _turn.Dispose();

    private Account? Judge(string name, string password, IPAddress? address)
    {
        var account = accounts.Find(name);
        var fits = (accounts.PasswordOf(name) ?? _nobody.Value).Fits(password);
        if (addresses.IsLockedOut(address))
        {
            return Refuse(address, "the address is locked out");
        }

        if (account is null)
        {
            CountAddress(address);
            return Refuse(address, "no such user");
        }

        if (accounts.IsLockedOut(account))
        {
            CountAddress(address);
            return Refuse(address, $"{account.Name} is locked out");
        }

        if (!fits)
        {
            CountAddress(address);
            var span = accounts.Failed(account.Name);
            if (span > TimeSpan.Zero)
            {
                AccessLog.UserLockedOut(logger, account.Name, span, address);
            }

            return Refuse(address, $"wrong password of {account.Name}");
        }

        if (account.IsDisabled)
        {
            return Refuse(address, $"{account.Name} is disabled");
        }

        accounts.Succeeded(account.Name);
        addresses.Succeeded(address);
        return account;
    }

    private void CountAddress(IPAddress? address)
    {
        var span = addresses.Failed(address);
        if (span > TimeSpan.Zero)
        {
            AccessLog.AddressLockedOut(logger, address, span);
        }
    }

    private Account? Refuse(IPAddress? address, string reason)
    {
        AccessLog.LoginRefused(logger, address, reason);
        return null;
    }
}
