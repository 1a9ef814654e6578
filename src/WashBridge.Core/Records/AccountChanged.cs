using WashBridge.Core.Cycles;

namespace WashBridge.Core.Records;

/// <summary>Who may do what was changed. Passwords and their hashes are never in it.</summary>
public sealed record AccountChanged : WashEvent, IRecord
{
    public required Act Act { get; init; }

    /// <summary>Whose account.</summary>
    public required string User { get; init; }

    /// <summary>What was changed, such as <c>created</c>, <c>role</c>, <c>password</c>, <c>locked</c>.</summary>
    public required string Change { get; init; }

    public string? OldValue { get; init; }

    public string? NewValue { get; init; }
}
