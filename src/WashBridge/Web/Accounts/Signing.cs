using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>What came of asking a person to sign.</summary>
public enum SignResult
{
    Signed = 0,

    /// <summary>The password does not fit, or there were too many tries.</summary>
    WrongPassword = 1,

    /// <summary>A user of the identity provider must log in there again first.</summary>
    LoginAgain = 2,
}

/// <summary>
/// Has a person prove again who it is before something of consequence is recorded, such as the release of a keg that is not met or not proven. Forms ask by the part
/// SignField. Where nobody logs in there is nothing to prove, and the record shows it; a token proves itself with every request.
/// </summary>
internal sealed class Signing(CurrentUser user, Logins logins, IHttpContextAccessor http, TimeProvider time, ILogger<Signing> logger)
{
    /// <summary>How long a login at the identity provider counts as a signature.</summary>
    public static TimeSpan ProvenFor { get; } = TimeSpan.FromMinutes(5);

    /// <summary>Whether a form has to ask for the password.</summary>
    public bool NeedsPassword => user.IsLoggedIn && user.Means == Means.Page && Session is { IsLocal: true };

    /// <summary>Whether the person must log in at the identity provider again first.</summary>
    public bool NeedsLogin => user.IsLoggedIn && user.Means == Means.Page && Session is { IsLocal: false } session && time.GetUtcNow() - session.Proven > ProvenFor;

    private Session? Session => http.HttpContext?.Items[typeof(Session)] as Session;

    /// <param name="password">What the form's field <c>password</c> holds.</param>
    public async Task<SignResult> SignAsync(string? password, CancellationToken cancellation = default)
    {
        if (NeedsLogin)
        {
            return SignResult.LoginAgain;
        }

        if (NeedsPassword)
        {
            var context = http.HttpContext!;
            if (string.IsNullOrEmpty(password) || await logins.JudgeAsync(user.Name!, password, context.Connection.RemoteIpAddress, cancellation) is null)
            {
                return SignResult.WrongPassword;
            }

            AccessLog.Signed(logger, user.Name!);
        }

        return SignResult.Signed;
    }
}
