using WashBridge.Core.Records;

namespace WashBridge.Web.Accounts;

/// <summary>A local user. Accounts are disabled, never deleted: records name them.</summary>
public sealed record Account
{
    public required string Name { get; init; }

    public required Role Role { get; init; }

    /// <summary>Somebody else chose the password.</summary>
    public required bool MustChange { get; init; }

    public required bool IsDisabled { get; init; }

    /// <summary>Wrong passwords since the last right one.</summary>
    public required int Failures { get; init; }

    /// <summary>Null: not locked out.</summary>
    public DateTimeOffset? LockedUntil { get; init; }

    public DateTimeOffset? LastLogin { get; init; }
}
