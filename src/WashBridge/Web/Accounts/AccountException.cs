namespace WashBridge.Web.Accounts;

/// <summary>An account, session or token cannot be what was asked for.</summary>
/// <param name="message">What was found and what is allowed.</param>
internal sealed class AccountException(string message) : Exception(message);
