using WashBridge.Core.Time;

namespace WashBridge.Core.Records;

/// <summary>Who did something, why, and by which way it came into the log.</summary>
public sealed record Act
{
    /// <summary>Name of the person; empty where nobody said.</summary>
    public required string By { get; init; }

    /// <summary>As which the person had logged in; null where nobody logs in.</summary>
    public Role? Role { get; init; }

    /// <summary>Why; empty where none is asked for.</summary>
    public string Reason { get; init; } = "";

    /// <summary>Null: told before this was kept.</summary>
    public Means? Means { get; init; }

    /// <summary>When it was told, by the clock of the machine that took it, whatever time the person gave for the work itself. Null: told before this was kept.</summary>
    public Instant? Entered { get; init; }
}

/// <summary>How something was told, for kinds of records that are older than <see cref="Act"/> and keep name and reason in fields of their own.</summary>
/// <param name="At">As in <see cref="Act.Entered"/>.</param>
/// <param name="Means">By which way.</param>
/// <param name="Role">As which the person had logged in.</param>
public sealed record Entered(Instant At, Means Means, Role? Role = null)
{
    /// <summary>The act, with what older kinds keep elsewhere.</summary>
    public static Act Act(string by, string reason, Entered? entered) => new() { By = by, Role = entered?.Role, Reason = reason, Means = entered?.Means, Entered = entered?.At };
}

/// <summary>
/// An event that a person is answerable for. The historian numbers these and chains them by hash, and never drops them.
/// </summary>
public interface IRecord
{
    Act Act { get; }
}

/// <summary>An event that tells something of certain kegs: it is found by their ids.</summary>
public interface IAboutKegs
{
    IReadOnlyList<string> Kegs { get; }
}
