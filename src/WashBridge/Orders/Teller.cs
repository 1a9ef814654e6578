using WashBridge.Core.Records;

namespace WashBridge.Orders;

/// <summary>Who tells something, as far as the program knows it by itself.</summary>
/// <param name="Means">By which way it came.</param>
/// <param name="Name">Who is logged in; null: nobody logs in, and what was told says who.</param>
/// <param name="Role">As which that person is logged in; null: nobody logs in.</param>
internal sealed record Teller(Means Means, string? Name = null, Role? Role = null)
{
    public static Teller Command { get; } = new(Means.Command);

    /// <exception cref="TellingException">This is not for the person's role.</exception>
    public void Require(Role least, string what)
    {
        if (Role is { } role && role < least)
        {
            throw new TellingException($"role: found {Of(role)}; {what} is for {Of(least)} and those above", isForbidden: true);
        }
    }

    private static string Of(Role role) => role == Core.Records.Role.Qa ? "QA" : role.ToString().ToLowerInvariant();
}
